"""Outlooks of past years that knew nothing of them, beside what then came.

The judged year is left out of the weather that an outlook draws from. What came is the true
weather through the same water model, from full butts and wet soil on 1 April, so that only the
weather is uncertain. An outlook issued later begins there too and has the true weather up to its
day: that is the state carried from week to week, whatever the model carries in it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from steepwell.garden.load import load_garden
from steepwell.garden.tables import config_dir
from steepwell.outlook.record import Record
from steepwell.outlook.seasons import Seasons, run_seasons, seasons_from
from steepwell.outlook.summary import dry_days
from steepwell.outlook.weather import Weather, future_weather

if TYPE_CHECKING:
    from collections.abc import Iterable

    from steepwell.garden.garden import Garden

LEADS_D = (7, 14, 28, 56)
DRY_WITHIN_D = 14
# One less than a multiple of ten, so that there are as many ranks to each bar of a histogram.
MEMBERS = 499
# From 1 April to the last week of September.
ISSUES_D = tuple(range(0, 183, 7))
SPAN_D = ISSUES_D[-1] + LEADS_D[-1]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Hindcast:
    """Outlooks and what came; arrays begin with (years, issues).

    Attributes
    ----------
    years
        The judged years.
    members_l
        Stored litres that the outlooks expected after each lead; (…, leads, members) [L].
    truth_l
        What came; (…, leads) [L].
    level_l
        What was stored on the day of issue; (…) [L].
    climate_l
        Stored litres of the other years on the same date; (…, leads, other years) [L].
    p_dry, dry, climate_dry
        Chance of a dry day within a fortnight, whether it came, and how many of the other years
        had one then; (…) [-].
    """

    years: tuple[int, ...]
    members_l: Array
    truth_l: Array
    level_l: Array
    climate_l: Array
    p_dry: Array
    dry: NDArray[np.bool_]
    climate_dry: Array


def garden_of_tests(name: str) -> Garden:
    """Return a garden of ``config/gardens`` without its vessels, which draw nothing here."""
    garden = load_garden(config_dir() / "gardens" / f"{name}.toml")
    return garden.model_copy(update={"vessel": ()})


def hindcast(
    garden: Garden, record: Record, *, years: Iterable[int] | None = None, members: int = MEMBERS
) -> Hindcast:
    """Issue an outlook every week of every year.

    Parameters
    ----------
    garden
        The garden.
    record
        The weather record.
    years
        The years to judge; all that the record has whole by default.
    members
        Size of the ensembles.

    Returns
    -------
    Hindcast
        What they expected, and what came.
    """
    seasons = seasons_from(garden, record, date(record.first.year, 4, 1), SPAN_D)
    run = run_seasons(garden, seasons.first, seasons.weather)
    stored_l, was_dry = run.volume_l.sum(axis=1), dry_days(garden, run)
    judged = tuple(year for year in seasons.years if years is None or year in set(years))
    columns = [seasons.years.index(year) for year in judged]
    ends = np.array(ISSUES_D)[:, None] + np.array(LEADS_D) - 1
    expected, p_dry = _all_outlooks(garden, record, seasons, judged, members)
    fortnight = np.array([was_dry[at : at + DRY_WITHIN_D].any(axis=0) for at in ISSUES_D])
    before_l = np.concatenate([np.full((1, seasons.count), garden.capacity_l), stored_l])
    others = [np.delete(np.arange(seasons.count), column) for column in columns]
    return Hindcast(
        judged,
        expected,
        np.array([stored_l[ends, column] for column in columns]),
        np.array([before_l[list(ISSUES_D), column] for column in columns]),
        np.array([stored_l[ends][:, :, other] for other in others]),
        p_dry,
        fortnight.T[columns],
        np.array([fortnight[:, other].mean(axis=1) for other in others]),
    )


def _all_outlooks(
    garden: Garden, record: Record, seasons: Seasons, judged: tuple[int, ...], members: int
) -> tuple[Array, Array]:
    expected = np.empty((len(judged), len(ISSUES_D), len(LEADS_D), members))
    p_dry = np.empty((len(judged), len(ISSUES_D)))
    for row, year in enumerate(judged):
        known = without_year(record, year)
        true = of_year(seasons, year)
        for column, at in enumerate(ISSUES_D):
            # In the calendar of the truth: a leap year has the sun of another day.
            day = seasons.first + timedelta(days=at)
            ahead = future_weather(garden, known, day, LEADS_D[-1], members, seed=at)
            run = run_seasons(garden, seasons.first, followed_by(true, at, ahead))
            stored_l = run.volume_l[at:].sum(axis=1)
            expected[row, column] = stored_l[np.array(LEADS_D) - 1]
            dry = dry_days(garden, run)[at : at + DRY_WITHIN_D]
            p_dry[row, column] = dry.any(axis=0).mean()
    return expected, p_dry


def of_year(seasons: Seasons, year: int) -> Weather:
    """Return the weather of one year, as one member."""
    column, weather = [seasons.years.index(year)], seasons.weather
    return Weather(weather.rain_mm[:, column], weather.mean_c[:, column], weather.et0_mm[:, column])


def followed_by(true: Weather, days: int, ahead: Weather) -> Weather:
    """Return weather that is the true one for some days, and then each member's own."""

    def joined(past: Array, future: Array) -> Array:
        repeated = np.repeat(past[:days], future.shape[1], axis=1)
        return np.concatenate([repeated, future])

    return Weather(
        joined(true.rain_mm, ahead.rain_mm),
        joined(true.mean_c, ahead.mean_c),
        joined(true.et0_mm, ahead.et0_mm),
    )


def without_year(record: Record, year: int) -> Record:
    """Return a record that does not know a year."""
    begin = (date(year, 1, 1) - record.first).days
    end = (date(year + 1, 1, 1) - record.first).days
    rain, tmin, tmax, et0 = (
        column.copy() for column in (record.rain_mm, record.tmin_c, record.tmax_c, record.et0_mm)
    )
    for column in (rain, tmin, tmax, et0):
        column[max(begin, 0) : max(end, 0)] = np.nan
    return Record(record.first, rain, tmin, tmax, et0)
