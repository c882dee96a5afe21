"""Members of future weather: whole windows of past years around the calendar day, or made up."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from steepwell.errors import WeatherRecordError
from steepwell.outlook.bridging import same_day
from steepwell.outlook.et0 import daily_et0_mm, hargreaves_bias
from steepwell.outlook.generator import generate
from steepwell.outlook.normals import LEAP_YEAR, daily_normals
from steepwell.outlook.record import SHORTEST_YEARS, Record, read_record

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden
    from steepwell.garden.weather import Normals

WIDEST_SHIFT_D = 15
NO_DAYS = Record(date(LEAP_YEAR, 1, 1), *np.empty((4, 0)))

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Weather:
    """Futures of the weather; arrays are (days, members).

    Attributes
    ----------
    rain_mm
        Rain of the day [mm].
    mean_c
        Mean air temperature of the day [°C].
    et0_mm
        Reference evapotranspiration of the day [mm].
    """

    rain_mm: Array
    mean_c: Array
    et0_mm: Array


def known_weather(garden: Garden) -> Record | None:
    """Return what a garden says its weather has been.

    Parameters
    ----------
    garden
        The garden.

    Returns
    -------
    Record or None
        The daily record, with the monthly normals beside it; a record of no days if there are
        only normals; None if there is neither.

    Raises
    ------
    WeatherRecordError
        If the daily record cannot be used.
    """
    said = garden.weather_record
    if said is None:
        return None
    record = NO_DAYS if said.daily is None else read_record(garden.path(said.daily))
    return record if said.normals is None else _with_normals(record, said.normals)


@lru_cache(maxsize=2)
def _with_normals(record: Record, normals: Normals) -> Record:
    return replace(record, normals=daily_normals(normals))


def future_weather(
    garden: Garden, record: Record, first: date, days: int, members: int, *, seed: int
) -> Weather:
    """Return futures by the best that is known: past years, or else monthly normals.

    Parameters
    ----------
    garden
        The garden, for its latitude.
    record
        What its weather has been.
    first
        The first day of the future.
    days
        Its length [d].
    members
        How many futures.
    seed
        Equal seeds give equal futures.

    Returns
    -------
    Weather
        Drawn from the record where ten of its years have such a window, made from its normals
        otherwise.

    Raises
    ------
    WeatherRecordError
        If there are neither ten years nor normals.
    """
    latitude_deg = garden.garden.latitude
    if record.normals is None or len(_windows(record, first, days)) >= SHORTEST_YEARS:
        return draw_weather(record, first, days, members, latitude_deg=latitude_deg, seed=seed)
    rain, tmin, tmax = generate(record.normals, first, days, members, seed=seed)
    bias = hargreaves_bias(record, latitude_deg)
    et0 = daily_et0_mm(tmin, tmax, first, latitude_deg=latitude_deg, bias=bias)
    return Weather(rain, (tmin + tmax) / 2, et0)


def draw_weather(
    record: Record, first: date, days: int, members: int, *, latitude_deg: float, seed: int
) -> Weather:
    """Draw futures from the record.

    Each member is an unbroken window of one past year that begins within a fortnight of the
    same calendar day, rain and temperature together, so that dry spells keep their length and
    go with their heat. Years come equally often.

    Parameters
    ----------
    record
        The weather record.
    first
        The first day of the future.
    days
        Its length [d].
    members
        How many futures.
    latitude_deg
        Latitude, north positive [°].
    seed
        Equal seeds draw equal futures.

    Returns
    -------
    Weather
        The futures.

    Raises
    ------
    WeatherRecordError
        If fewer than ten years of the record have such a window.
    """
    windows = _windows(record, first, days)
    if len(windows) < SHORTEST_YEARS:
        raise WeatherRecordError(
            f"the weather record has {len(windows)} years with {days} unbroken days from "
            f"{first:%d %B}; an outlook needs {SHORTEST_YEARS} or more, or monthly normals under "
            "[weather_record.normals]"
        )
    starts = _pick(windows, members, np.random.default_rng(seed))
    picked = np.arange(days)[:, None] + starts
    tmin, tmax = record.tmin_c[picked], record.tmax_c[picked]
    et0 = daily_et0_mm(
        tmin, tmax, first, latitude_deg=latitude_deg, bias=hargreaves_bias(record, latitude_deg)
    )
    return Weather(record.rain_mm[picked], (tmin + tmax) / 2, et0)


def _windows(record: Record, first: date, days: int) -> list[NDArray[np.int_]]:
    """Return, for each year that has any, where the unbroken windows around a day begin."""
    whole = ~np.isnan(record.rain_mm + record.tmin_c + record.tmax_c)
    unbroken = np.concatenate([[0], np.cumsum(whole)])
    windows = [
        _whole(unbroken, (same_day(first, year) - record.first).days, days)
        for year in range(record.first.year, record.first.year + record.days // 365 + 2)
    ]
    return [starts for starts in windows if starts.size]


def _whole(unbroken: NDArray[np.int_], centre: int, days: int) -> NDArray[np.int_]:
    """Return where the windows around a day begin that lack no day of the record."""
    starts = np.arange(centre - WIDEST_SHIFT_D, centre + WIDEST_SHIFT_D + 1)
    starts = starts[(starts >= 0) & (starts + days < len(unbroken))]
    whole: NDArray[np.int_] = starts[unbroken[starts + days] - unbroken[starts] == days]
    return whole


def _pick(
    windows: list[NDArray[np.int_]], members: int, rng: np.random.Generator
) -> NDArray[np.int_]:
    """Deal the members out to the years in turn, each to a window drawn within its year."""
    years = rng.permutation(len(windows))[np.arange(members) % len(windows)]
    lengths = np.array([len(starts) for starts in windows])
    ends = np.cumsum(lengths)
    drawn = (rng.random(members) * lengths[years]).astype(int)
    picked: NDArray[np.int_] = np.concatenate(windows)[(ends - lengths)[years] + drawn]
    return picked
