"""Members of future weather: whole windows of past years around the calendar day."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from steepwell.errors import WeatherRecordError
from steepwell.outlook.et0 import daily_et0_mm, hargreaves_bias
from steepwell.outlook.record import SHORTEST_YEARS, Record, same_day

if TYPE_CHECKING:
    from datetime import date

WIDEST_SHIFT_D = 15

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
    whole = ~np.isnan(record.rain_mm + record.tmin_c + record.tmax_c)
    unbroken = np.concatenate([[0], np.cumsum(whole)])
    windows = [
        _whole(unbroken, (same_day(first, year) - record.first).days, days)
        for year in range(record.first.year, record.first.year + record.days // 365 + 2)
    ]
    windows = [starts for starts in windows if starts.size]
    if len(windows) < SHORTEST_YEARS:
        raise WeatherRecordError(
            f"the weather record has {len(windows)} years with {days} unbroken days from "
            f"{first:%d %B}; an outlook needs {SHORTEST_YEARS} or more"
        )
    starts = _pick(windows, members, np.random.default_rng(seed))
    picked = np.arange(days)[:, None] + starts
    tmin, tmax = record.tmin_c[picked], record.tmax_c[picked]
    et0 = daily_et0_mm(
        tmin, tmax, first, latitude_deg=latitude_deg, bias=hargreaves_bias(record, latitude_deg)
    )
    return Weather(record.rain_mm[picked], (tmin + tmax) / 2, et0)


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
