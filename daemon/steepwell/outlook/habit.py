"""How freely, how often and how soon the gardener waters, against what beds draw meanwhile."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from steepwell.clock import from_ms
from steepwell.garden.days import local_day, midnight

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden
    from steepwell.store.store import Store

# No soil asks for water that lacks less.
ASKS_MM = 1.0
# Who waters sooner than the textbook is known by the driest of his sooner waterings; so many tell.
SOONER_SHARE = 0.1
LEAST_WATERINGS = 5
# Whoever comes less often waters by the calendar, and however moist the soil.
MOST_APART_D = 2
# As far back as a habit is looked for.
LEARNED_OVER_D = 42
# Until more is known, a gardener is taken to give what the crops draw; it counts as a week.
PRIOR_D = 7
LEAST, MOST = 0.2, 3.0
WEEK_D = 7

Array = NDArray[np.float64]


def asks_share(
    watered: NDArray[np.bool_],
    lacks_of_raw: Array,
    had_water: NDArray[np.bool_],
    *,
    every_d: int,
) -> float:
    """Return how much of its readily available water a bed lacks when the gardener waters it.

    A gardener who goes round by the calendar does not wait for that.

    Parameters
    ----------
    watered
        Whether each bed was watered in the evening of each day; (days, beds).
    lacks_of_raw
        What it lacked then, as a share of its readily available water [-].
    had_water
        Whether there was water to give on each day; other days tell nothing.
    every_d
        Every how many days he goes round while the soil lacks anything [d].

    Returns
    -------
    float
        From 0 to 1; 1 where little is known, for then a bed needs water to spare its crop [-].

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, ch. 8, p. 171: irrigate before or
    at the moment when the readily available water is used up.
    """
    if every_d > MOST_APART_D:
        return 0.0
    recent = slice(-LEARNED_OVER_D, None)
    lacked = lacks_of_raw[recent][watered[recent] & had_water[recent, None]]
    if len(lacked) < LEAST_WATERINGS:
        return 1.0
    return float(np.clip(np.quantile(lacked, SOONER_SHARE), 0.0, 1.0))


def asks_at_mm(share: float, raw_mm: Array, rained_on: NDArray[np.bool_]) -> Array:
    """Return what a bed lacks when it asks for water.

    Parameters
    ----------
    share
        As ``asks_share`` tells [-].
    raw_mm
        Readily available water; (days, beds) [mm].
    rained_on
        Whether rain reaches each bed; others have their water every day.

    Returns
    -------
    array
        As ``raw_mm`` [mm].
    """
    asks: Array = np.where(rained_on, np.maximum(share * raw_mm, ASKS_MM), ASKS_MM)
    return asks


def use_factor(given_l: Array, drawn_l: Array, had_water: NDArray[np.bool_]) -> float:
    """Return what a gardener gives of what the beds draw on days when the soil asks.

    Above 1 water is lost below the roots; below 1 the crops live on what is in the soil.

    Parameters
    ----------
    given_l
        Water given on each day [L].
    drawn_l
        What unstressed crops and the surface draw on it from beds that ask, 0 on days when none
        does [L].
    had_water
        Whether there was water to give; other days tell nothing about the gardener.

    Returns
    -------
    float
        From 0.2 to 3, 1 where nothing is known [-].
    """
    recent = slice(-LEARNED_OVER_D, None)
    counts = had_water[recent] & (drawn_l[recent] > 0)
    given = float(given_l[recent][had_water[recent]].sum())
    # Who notes no watering at all waters all the same, and does not say so.
    if not counts.any() or given <= 0:
        return 1.0
    prior_l = PRIOR_D * float(drawn_l[recent][counts].mean())
    factor = (given + prior_l) / (float(drawn_l[recent][counts].sum()) + prior_l)
    return float(np.clip(factor, LEAST, MOST))


def rounds_every_d(
    watered: NDArray[np.bool_], asked: NDArray[np.bool_], had_water: NDArray[np.bool_]
) -> int:
    """Return every how many days a gardener goes round, while the soil asks.

    Parameters
    ----------
    watered
        Whether each bed was watered in the evening of each day; (days, beds).
    asked
        Whether it asked for water.
    had_water
        Whether there was water to give on each day; other days tell nothing.

    Returns
    -------
    int
        From 1 to 7, 1 where nothing is known [d].
    """
    recent = slice(-LEARNED_OVER_D, None)
    counts = asked[recent] & had_water[recent, None]
    rounds = int((watered[recent] & had_water[recent, None]).sum())
    if rounds == 0:
        return 1
    return int(np.clip(round(int(counts.sum()) / rounds), 1, WEEK_D))


def days_with_water(garden: Garden, store: Store, first: date, now: datetime) -> NDArray[np.bool_]:
    """Return on which days up to yesterday there was water to give.

    Parameters
    ----------
    garden
        The garden.
    store
        Where the levels are.
    first
        The first day.
    now
        The moment of the job.

    Returns
    -------
    array of bool
        One a day; days whose level was not read, or not of all butts, count as days with water.
    """
    today = local_day(garden, now)
    had_water = np.ones((today - first).days, dtype=bool)
    sensors = [garden.level_sensor(butt.name) for butt in garden.butt]
    since = max(first, today - timedelta(days=LEARNED_OVER_D))
    if not sensors or None in sensors:
        return had_water
    most = np.full((len(had_water), len(sensors)), np.nan)
    column = {sensor.name: index for index, sensor in enumerate(sensors) if sensor}
    facts = store.readings.daily_most(list(column), midnight(garden, since), now)
    for name, day_ms, litres in facts:
        row = (local_day(garden, from_ms(day_ms)) - first).days
        if 0 <= row < len(had_water):
            most[row, column[name]] = litres
    dead = np.array([butt.dead_volume for butt in garden.butt])
    # Where a butt was not read the sum is unknown, which is less than nothing.
    above_l = np.maximum(most - dead, 0.0).sum(axis=1)
    had_water[above_l < garden.dry_line_l] = False
    return had_water
