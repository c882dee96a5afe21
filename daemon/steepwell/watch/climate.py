"""How cold and how warm the air has been in each month, as far as the garden file knows."""

from __future__ import annotations

import math
from datetime import date
from typing import TYPE_CHECKING

from steepwell.outlook.record_file import read_rows

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden

# Beyond what a record of years has seen, and beyond the mean of a month's days; from memory.
BEYOND_RECORD_C, BEYOND_NORMAL_C = 4.0, 15.0

Range = tuple[float, float]


def usual_air_c(garden: Garden) -> dict[int, Range]:
    """Return the lowest and highest temperature of the air that each month may have.

    Parameters
    ----------
    garden
        The garden, with its weather record.

    Returns
    -------
    dict
        By month, 1 to 12 [°C]; months of which nothing is known are not in it.

    Raises
    ------
    WeatherRecordError
        If the daily record cannot be read.
    """
    known = garden.weather_record
    if known is None:
        return {}
    if known.daily is not None:
        return _of_days(garden)
    if known.normals is None:
        return {}
    return {
        month: (tmin - BEYOND_NORMAL_C, tmax + BEYOND_NORMAL_C)
        for month, (tmin, tmax) in enumerate(
            zip(known.normals.tmin_c, known.normals.tmax_c, strict=True), start=1
        )
    }


def _of_days(garden: Garden) -> dict[int, Range]:
    lowest, highest = dict.fromkeys(range(1, 13), math.inf), dict.fromkeys(range(1, 13), -math.inf)
    if garden.weather_record is None or garden.weather_record.daily is None:
        return {}
    for ordinal, row in read_rows(garden.path(garden.weather_record.daily)).days.items():
        _, tmin, tmax, *_ = row.values
        month = date.fromordinal(ordinal).month
        # A value that is missing is no number, and as the second of two it never wins.
        lowest[month] = min(lowest[month], tmin)
        highest[month] = max(highest[month], tmax)
    return {
        month: (lowest[month] - BEYOND_RECORD_C, highest[month] + BEYOND_RECORD_C)
        for month in lowest
        if math.isfinite(lowest[month]) and math.isfinite(highest[month])
    }
