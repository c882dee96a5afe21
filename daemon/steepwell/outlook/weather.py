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
        [start for start in _starts(record, first, year) if _is_whole(unbroken, start, days)]
        for year in range(record.first.year, record.first.year + record.days // 365 + 2)
    ]
    windows = [starts for starts in windows if starts]
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


def _starts(record: Record, first: date, year: int) -> range:
    centre = (same_day(first, year) - record.first).days
    return range(centre - WIDEST_SHIFT_D, centre + WIDEST_SHIFT_D + 1)


def _is_whole(unbroken: NDArray[np.int_], start: int, days: int) -> bool:
    end = start + days
    return start >= 0 and end < len(unbroken) and bool(unbroken[end] - unbroken[start] == days)


def _pick(windows: list[list[int]], members: int, rng: np.random.Generator) -> NDArray[np.intp]:
    """Deal the members out to the years in turn, each to a window drawn within its year."""
    order = rng.permutation(len(windows))
    years = [windows[order[member % len(windows)]] for member in range(members)]
    drawn = rng.random(members)
    return np.array(
        [starts[int(share * len(starts))] for starts, share in zip(years, drawn, strict=True)]
    )
