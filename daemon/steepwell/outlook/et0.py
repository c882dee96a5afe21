"""Reference evapotranspiration from temperature, corrected by what the record knows better."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from steepwell.model.evapotranspiration import extraterrestrial_radiation_mj, hargreaves_mm
from steepwell.outlook.days import days_from, days_of_year, months_of

if TYPE_CHECKING:
    from datetime import date

    from steepwell.outlook.record import Record

LEAST_DAYS_A_MONTH = 150

Array = NDArray[np.float64]


def radiation_of(first: date, count: int, latitude_deg: float) -> Array:
    """Return extraterrestrial radiation day by day from a first day on [MJ/m²]."""
    day_of_year = days_of_year(days_from(first, count)).astype(np.float64)
    return np.asarray(extraterrestrial_radiation_mj(latitude_deg, day_of_year))


@lru_cache(maxsize=2)
def hargreaves_bias(record: Record | None, latitude_deg: float) -> Array:
    """Return by month what the record's ET0 is of that by Hargreaves.

    Hargreaves over-predicts in humid places, by 10 to 20 % in a Brussels summer; where a record
    carries ET0 by a better method, the ratio of the sums of each month corrects it.

    Parameters
    ----------
    record
        The weather record, or None.
    latitude_deg
        Latitude, north positive [°].

    Returns
    -------
    array
        Twelve factors, 1 where fewer than five months of that name carry ET0 [-].

    References
    ----------
    FAO-56, p. 64, on the bias of eq. 52.
    """
    factors = np.ones(12)
    if record is None or np.isnan(record.et0_mm).all():
        return factors
    radiation = radiation_of(record.first, record.days, latitude_deg)
    by_temperature = hargreaves_mm(record.tmin_c, record.tmax_c, radiation)
    months = months_of(days_from(record.first, record.days))
    both = ~np.isnan(by_temperature + record.et0_mm)
    for month in range(1, 13):
        chosen = both & (months == month)
        if chosen.sum() >= LEAST_DAYS_A_MONTH:
            factors[month - 1] = record.et0_mm[chosen].sum() / by_temperature[chosen].sum()
    return factors


def daily_et0_mm(
    tmin_c: Array, tmax_c: Array, first: date, *, latitude_deg: float, bias: Array
) -> Array:
    """Return ET0 day by day.

    Parameters
    ----------
    tmin_c, tmax_c
        Extremes of each day; days are the first axis [°C].
    first
        The first day.
    latitude_deg
        Latitude, north positive [°].
    bias
        Factor of each month [-].

    Returns
    -------
    array
        As ``tmin_c`` [mm].
    """
    count = len(tmin_c)
    months = months_of(days_from(first, count))
    factor = radiation_of(first, count, latitude_deg) * bias[months - 1]
    return np.asarray(hargreaves_mm(tmin_c, tmax_c, factor.reshape(-1, *[1] * (tmin_c.ndim - 1))))
