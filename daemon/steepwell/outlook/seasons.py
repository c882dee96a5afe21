"""The garden over the same months of every year that the weather is known of."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from steepwell.garden.days import midnight
from steepwell.outlook.bridging import same_day
from steepwell.outlook.demand import bed_days
from steepwell.outlook.draws import certain
from steepwell.outlook.et0 import daily_et0_mm, hargreaves_bias
from steepwell.outlook.futures import Futures, run_futures
from steepwell.outlook.state import BedNow, ButtNow, State
from steepwell.outlook.weather import Weather, future_weather

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden
    from steepwell.outlook.record import Record

# From spring, when butts are full and the soil is wet, until nothing is watered any more.
SPRING_MONTH_NORTH, SPRING_MONTH_SOUTH = 3, 9
SEASON_D = 245
# Where only monthly normals are known, so many years are made from them, always the same.
MADE_YEARS = 30
MADE_SEED = 0


@dataclass(frozen=True, slots=True)
class Seasons:
    """The weather of the same days of several years.

    Attributes
    ----------
    first
        The first day, in the latest of the years.
    years
        The years in which they begin; empty where they are made from monthly normals.
    weather
        One member a year.
    """

    first: date
    years: tuple[int, ...]
    weather: Weather

    @property
    def count(self) -> int:
        """How many years."""
        return int(self.weather.rain_mm.shape[1])


def seasons_of(garden: Garden, record: Record) -> Seasons | None:
    """Return the weather of every growing season, spring to autumn.

    Parameters
    ----------
    garden
        The garden, for its latitude.
    record
        What its weather has been, or monthly normals.

    Returns
    -------
    Seasons or None
        Seasons of which every day is known; years made from the normals where there is no such
        season, None where there are no normals either.
    """
    north = garden.garden.latitude >= 0.0
    month = SPRING_MONTH_NORTH if north else SPRING_MONTH_SOUTH
    seasons = seasons_from(garden, record, date(record.first.year, month, 1), SEASON_D)
    if seasons.count:
        return seasons
    if record.normals is None:
        return None
    made = future_weather(garden, record, seasons.first, SEASON_D, MADE_YEARS, seed=MADE_SEED)
    return Seasons(seasons.first, (), made)


def seasons_from(garden: Garden, record: Record, day: date, days: int) -> Seasons:
    """Return the weather from one calendar day on, of each year that has all of it.

    Parameters
    ----------
    garden
        The garden, for its latitude.
    record
        What its weather has been.
    day
        The day to begin with, in any year.
    days
        How many days [d].

    Returns
    -------
    Seasons
        Perhaps of no year.
    """
    whole = ~np.isnan(record.rain_mm + record.tmin_c + record.tmax_c)
    last = record.first.year + record.days // 365 + 1
    starts = {
        year: (same_day(day, year) - record.first).days
        for year in range(record.first.year, last + 1)
    }
    years = tuple(
        year
        for year, start in starts.items()
        if start >= 0 and start + days <= record.days and whole[start : start + days].all()
    )
    first = same_day(day, years[-1] if years else day.year)
    picked = np.arange(days)[:, None] + np.array([starts[year] for year in years], dtype=int)
    tmin, tmax = record.tmin_c[picked], record.tmax_c[picked]
    latitude_deg = garden.garden.latitude
    bias = hargreaves_bias(record, latitude_deg)
    et0 = daily_et0_mm(tmin, tmax, first, latitude_deg=latitude_deg, bias=bias)
    return Seasons(first, years, Weather(record.rain_mm[picked], (tmin + tmax) / 2, et0))


def run_seasons(
    garden: Garden,
    first: date,
    weather: Weather,
    *,
    every_d: int = 1,
    use_factor: float = 1.0,
) -> Futures:
    """Carry a garden through seasons that all begin with full butts and wet soil.

    The gardener gives a share of what the beds draw, as long as there is water. Nothing is drawn by
    chance.

    Parameters
    ----------
    garden
        The garden.
    first
        The first day.
    weather
        One member a season.
    every_d
        Every how many days the gardener goes round [d].
    use_factor
        What he gives of what the beds draw [-].

    Returns
    -------
    Futures
        Values at the end of each day.
    """
    days, members = weather.rain_mm.shape
    asked = bed_days(garden, first, days)
    state = _in_spring(garden, first, every_d, use_factor)
    return run_futures(garden, state, weather, asked, certain(garden, state, members))


def _in_spring(garden: Garden, first: date, every_d: int, use_factor: float) -> State:
    now = midnight(garden, first)
    return State(
        now=now,
        today=first,
        rain_today_mm=0.0,
        watered_today_mm=(0.0,) * len(garden.bed),
        watered_tonight_mm=(0.0,) * len(garden.bed),
        butts=tuple(ButtNow(butt.name, butt.capacity_l, now) for butt in garden.butt),
        beds=tuple(BedNow(bed.name, 0.0, 0.0, 0.0, None) for bed in garden.bed),
        vessels=(),
        use_factor=use_factor,
        every_d=every_d,
    )
