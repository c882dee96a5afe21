"""Butts and beds of every member through the days ahead, and the gardener between them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from steepwell.model.dual import dual_step
from steepwell.outlook.butts import chain_of
from steepwell.outlook.habit import asks_at_mm
from steepwell.outlook.observed import share_of_today_left

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden
    from steepwell.outlook.butts import Chain
    from steepwell.outlook.demand import BedDays
    from steepwell.outlook.draws import Draws
    from steepwell.outlook.state import State
    from steepwell.outlook.weather import Weather

# The gardener goes round in the evening.
EVENING_HOUR = 19
LEAST_WATERING_MM = 5.0
WEEK_D = 7
# What rounding leaves in an empty butt.
NOTHING_L = 1e-6

Array = NDArray[np.float64]


def run_water(
    garden: Garden, state: State, weather: Weather, asked: BedDays, draws: Draws
) -> dict[str, Any]:
    """Carry butts and beds of all members through the days of the weather.

    The roofs' water comes early in the day, then soil and crops draw, and in the evening the
    gardener gives those beds whose turn it is a share of what they drew since the last round while
    they asked for water, no more than they lack; how dry they are when they ask is as it was with
    this gardener. What is given wets the surface of the next day.
    Where the butts do not hold enough, the beds with most to lose come first. On days on which
    orders bar watering he gives nothing, and makes up for it after them.

    Parameters
    ----------
    garden
        The garden.
    state
        What is so now.
    weather
        The members' weather; its first day is today.
    asked
        What the beds ask of the soil on the same days.
    draws
        What the members start with.

    Returns
    -------
    dict
        The fields of ``Futures`` that are about water and beds.
    """
    days, members = weather.rain_mm.shape
    chain = chain_of(garden)
    beds, butts = len(garden.bed), len(garden.butt)
    order: list[int] | slice = list(chain.order)
    if order == list(range(butts)):
        order = slice(None)
    area = np.array([bed.area for bed in garden.bed])
    rained_on = _rained_on(garden)
    dead = np.array(chain.dead_l)[:, None]
    capacity = np.array(chain.capacity_l)[:, None]

    volume_out = np.empty((days, butts, members))
    full = np.empty((days, butts, members), dtype=bool)
    stressed = np.empty((days, beds, members), dtype=bool)
    wanted, given, spilled = (np.zeros((days, members)) for _ in range(3))

    volume = draws.volume_l[order]
    depletion = _for_each(np.array([bed.depletion_mm for bed in state.beds]), members)
    surface = _for_each(np.array([bed.surface_mm for bed in state.beds]), members)
    owed = _for_each(np.array([bed.owed_mm for bed in state.beds]), members)
    irrigation = np.array(state.watered_today_mm)[:, None]
    tonight = np.array(state.watered_tonight_mm)[:, None]
    turns, still_to_come = _turns(garden, state, asked.barred)
    suffers_mm, asks_mm, demand = _thresholds(garden, state, weather, asked)
    served_before = _served_before(asked.claim)
    rain_mm, inflow_l = _what_falls(garden, state, weather, chain, draws)
    drawn = np.empty_like(owed)

    for day in range(days):
        volume, lost = chain.pour(volume, inflow_l[:, day])
        full[day, order] = volume >= capacity
        spilled[day] = lost.sum(axis=0)
        after = dual_step(
            surface,
            depletion,
            rain_mm=rained_on * rain_mm[day],
            irrigation_mm=irrigation,
            et0_mm=weather.et0_mm[day],
            **{name: value[day] for name, value in demand.items()},
        )
        surface, depletion = after.surface_mm, after.depletion_mm
        np.greater(depletion, suffers_mm[day], out=stressed[day])
        owed += after.evaporation_mm
        owed += np.multiply(demand["kcb"][day], weather.et0_mm[day], out=drawn)
        owed *= depletion > asks_mm[day]
        irrigation = np.minimum(owed, depletion)
        irrigation *= draws.use_factor
        irrigation[~(turns[day] & still_to_come) if day == 0 else ~turns[day]] = 0.0
        owed[turns[day]] = 0.0
        above = np.maximum(volume - dead, 0.0)
        in_hand = above.sum(axis=0)
        wanted[day] = area @ irrigation
        given[day] = np.minimum(wanted[day], in_hand)
        _cut_to_what_is_there(irrigation, wanted[day], in_hand, area, served_before[day])
        volume -= above * _ratio(given[day], in_hand)
        volume_out[day, order] = volume
        if day == 0:
            irrigation += tonight
    return {
        "volume_l": volume_out,
        "full": full,
        "wanted_l": wanted,
        "given_l": given,
        "spilled_l": spilled,
        "bed_wanted_l": area[:, None] * _week_need_mm(garden, state, weather, asked),
        "stressed": stressed,
    }


def _what_falls(
    garden: Garden, state: State, weather: Weather, chain: Chain, draws: Draws
) -> tuple[Array, Array]:
    """Return the rain of each day on the beds, and what the roofs deliver of it to each butt.

    What fell today before now is in the butts, and not yet in the beds. The shapes are
    (days, members) [mm] and (butts, days, members) [L].
    """
    rain_mm = weather.rain_mm.copy()
    rain_mm[0] *= share_of_today_left(garden, state.now)
    inflow_l = chain.inflow_l(rain_mm, draws.runoff)
    rain_mm[0] += state.rain_today_mm
    return rain_mm, inflow_l


def _thresholds(
    garden: Garden, state: State, weather: Weather, asked: BedDays
) -> tuple[Array, Array, dict[str, Array]]:
    """Return from what depletion each bed suffers and asks for water, and what it demands.

    Where nothing grows, nothing suffers and nothing is watered, however dry it is. The shapes are
    (days, beds, 1).
    """
    raw_mm = asked.raw_for(weather.et0_mm.mean(axis=1))
    asks_mm = asks_at_mm(state.asks_share, raw_mm, _rained_on(garden)[:, 0] > 0.0)
    suffers_mm, asks_mm = (np.where(asked.grows, mm, np.inf) for mm in (raw_mm, asks_mm))
    demand = {name: value[:, :, None] for name, value in asked.demand(raw_mm).items()}
    return suffers_mm[:, :, None], asks_mm[:, :, None], demand


def _rained_on(garden: Garden) -> Array:
    return np.array([bed.rained_on for bed in garden.bed], dtype=float)[:, None]


def _turns(
    garden: Garden, state: State, barred: NDArray[np.bool_]
) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Return on which evenings each bed has its turn, and whether this evening's is to come.

    Beds that no rain reaches have it every evening. An evening on which a bed was watered already
    counts as its turn; days on which watering is barred have none. The shapes are (days, beds) and
    (beds,).
    """
    evening_is_over = state.now.astimezone(garden.garden.zone).hour >= EVENING_HOUR
    every = np.array([state.every_d if bed.rained_on else 1 for bed in garden.bed])
    ago = np.minimum([bed.watered_d_ago for bed in state.beds], every)
    next_d = np.where(ago == 0, 0, every - ago)
    if evening_is_over:
        next_d = np.where((next_d == 0) & (ago > 0), 1, next_d)
    since = np.arange(len(barred))[:, None] - next_d
    turns = (since >= 0) & (since % every == 0) & ~barred[:, None]
    return turns, (ago > 0) & (not evening_is_over)


def _served_before(claim: Array) -> Array:
    """Return for each day and bed which beds are served before it; (days, beds, beds)."""
    turn = np.argsort(np.argsort(-claim, axis=1, kind="stable"), axis=1)
    return (turn[:, None, :] < turn[:, :, None]).astype(float)


def _cut_to_what_is_there(
    wanted_mm: Array, wanted_l: Array, in_hand_l: Array, area_m2: Array, served_before: Array
) -> None:
    """Where the butts do not hold enough, serve the beds with most to lose first."""
    some = in_hand_l > NOTHING_L
    wanted_mm *= some
    short = np.flatnonzero((wanted_l > in_hand_l) & some)
    if not short.size:
        return
    asked_l = wanted_mm[:, short] * area_m2[:, None]
    left_l = in_hand_l[short] - served_before @ asked_l
    np.minimum(np.maximum(left_l, 0.0, out=left_l), asked_l, out=asked_l)
    asked_l /= area_m2[:, None]
    wanted_mm[:, short] = asked_l


def _week_need_mm(garden: Garden, state: State, weather: Weather, asked: BedDays) -> Array:
    """Return what each bed lacks after a week without watering, where that is worth a can."""
    rain_mm = weather.rain_mm[:WEEK_D].copy()
    rain_mm[0] = rain_mm[0] * share_of_today_left(garden, state.now) + state.rain_today_mm
    rained_on = _rained_on(garden)
    lacks = _for_each(np.array([bed.depletion_mm for bed in state.beds]), rain_mm.shape[1])
    for day, fallen_mm in enumerate(rain_mm):
        lacks = np.maximum(lacks - rained_on * fallen_mm, 0.0)
        lacks += asked.kc[day][:, None] * weather.et0_mm[day]
    needs: Array = lacks * ((lacks > LEAST_WATERING_MM) & asked.grows[0][:, None])
    return needs


def _for_each(values: Array, members: int) -> Array:
    return np.repeat(values[:, None], members, axis=1)


def _ratio(part: Array, whole: Array) -> Array:
    return part / np.maximum(whole, 1e-9)
