"""The air and the sun of the days gone by, as vessels have them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from steepwell.clock import to_ms
from steepwell.garden.days import midnight
from steepwell.model.warmth import solar_by_et0_mj
from steepwell.outlook.bridging import same_day
from steepwell.outlook.et0 import daily_et0_mm, hargreaves_bias

if TYPE_CHECKING:
    from datetime import date

    from steepwell.garden.garden import Garden
    from steepwell.outlook.observed import Observed
    from steepwell.outlook.record import Record

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class AirDays:
    """The air and the sun of the days up to today.

    Attributes
    ----------
    first
        The first day.
    begins_ms
        When each local day begins, and the day after the last [ms since 1970].
    mean_c, sun_mj
        Mean temperature and solar radiation of each day; today has those of yesterday
        [°C, MJ/m2].
    et0_mm
        Reference evapotranspiration of each day, nothing where it is not known [mm].
    range_c
        Greatest less least temperature of each day [K].
    guessed
        Whether the temperatures of a day are only what is usual.
    """

    first: date
    begins_ms: NDArray[np.int64]
    mean_c: Array
    sun_mj: Array
    et0_mm: Array
    range_c: Array
    guessed: NDArray[np.bool_]

    def day(self, index: int) -> date:
        """Return the day at a position."""
        return self.first + timedelta(days=index)

    def index(self, time_ms: int) -> int:
        """Return the position of the day that holds a moment, of the nearest one if none does."""
        at = int(np.searchsorted(self.begins_ms, time_ms, side="right")) - 1
        return min(max(at, 0), len(self.mean_c) - 1)

    def et0_between_mm(self, since_ms: int, until_ms: int) -> float:
        """Return the evapotranspiration between two moments, evenly spread over each day [mm]."""
        sums = np.concatenate([[0.0], np.cumsum(self.et0_mm)])
        first, last = np.interp([since_ms, until_ms], self.begins_ms, sums)
        return float(last - first)


def air_days(garden: Garden, observed: Observed, record: Record | None) -> AirDays:
    """Return the air and the sun as a vessel has them.

    Parameters
    ----------
    garden
        The garden.
    observed
        Its weather up to yesterday.
    record
        The weather record, or None.

    Returns
    -------
    AirDays
        From the first day of the weather to today.
    """
    latitude_deg = garden.garden.latitude
    bias = hargreaves_bias(record, latitude_deg)
    mean_c, range_c = (observed.tmin_c + observed.tmax_c) / 2, observed.tmax_c - observed.tmin_c
    et0_mm = daily_et0_mm(
        observed.tmin_c, observed.tmax_c, observed.first, latitude_deg=latitude_deg, bias=bias
    )
    sun_mj = solar_by_et0_mj(et0_mm, mean_c)
    days = len(mean_c) + 1
    begins = [midnight(garden, observed.day(day)) for day in range(days + 1)]
    return AirDays(
        observed.first,
        np.array([to_ms(begin) for begin in begins]),
        np.append(mean_c, mean_c[-1:]),
        np.append(sun_mj, sun_mj[-1:]),
        np.nan_to_num(np.append(et0_mm, et0_mm[-1:])),
        np.append(range_c, range_c[-1:]),
        np.append(observed.temperature_guessed, observed.temperature_guessed[-1:]),
    )


def usual_sd_c(record: Record | None, first: date, last: date) -> float:
    """Return how far years differ from one another in their mean temperature over some days.

    Parameters
    ----------
    record
        The weather record, or None.
    first, last
        The days.

    Returns
    -------
    float
        Standard deviation over the years that have these days, 0 where there are none [K].
    """
    if record is None or last < first:
        return 0.0
    mean_c = (record.tmin_c + record.tmax_c) / 2
    length = (last - first).days + 1
    years = range(record.first.year, record.first.year + record.days // 365 + 2)
    starts = [(same_day(first, year) - record.first).days for year in years]
    means = [mean_c[at : at + length].mean() for at in starts if 0 <= at <= len(mean_c) - length]
    whole = [value for value in means if np.isfinite(value)]
    return float(np.std(whole)) if whole else 0.0
