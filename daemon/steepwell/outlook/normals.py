"""Monthly normals day by day, on a smooth curve of which the months keep their means."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from steepwell.garden.weather import LONGEST_D

if TYPE_CHECKING:
    from datetime import date

    from steepwell.garden.weather import Normals

LEAP_YEAR = 2000
YEAR_D = sum(LONGEST_D)

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class DailyNormals:
    """What is usual on each day of a leap year.

    Attributes
    ----------
    rain_mm
        Mean rain of the day, dry days counted [mm].
    wet_share
        Share of years in which the day has 1 mm or more [-].
    tmin_c, tmax_c
        Mean extremes [°C].
    """

    rain_mm: Array
    wet_share: Array
    tmin_c: Array
    tmax_c: Array

    def normal(self, day: date) -> tuple[float, float, float]:
        """Return mean rain [mm], Tmin [°C] and Tmax [°C] of a calendar day."""
        at = day_of_leap_year(day)
        return float(self.rain_mm[at]), float(self.tmin_c[at]), float(self.tmax_c[at])


def day_of_leap_year(day: date) -> int:
    """Return the position of a calendar day in a leap year, 1 January being 0."""
    return day.replace(year=LEAP_YEAR).timetuple().tm_yday - 1


@lru_cache(maxsize=2)
def daily_normals(normals: Normals) -> DailyNormals:
    """Return monthly normals day by day.

    Parameters
    ----------
    normals
        As the garden file gives them.

    Returns
    -------
    DailyNormals
        Curves without steps at the ends of months, that give back the normals when summed.
    """
    days = np.array(LONGEST_D, dtype=float)
    return DailyNormals(
        rain_mm=never_negative(np.array(normals.rain_mm) / days),
        wet_share=np.minimum(never_negative(np.array(normals.wet_days) / days), 1.0),
        tmin_c=smooth(np.array(normals.tmin_c)),
        tmax_c=smooth(np.array(normals.tmax_c)),
    )


def smooth(monthly: Array) -> Array:
    """Return a year of days that keeps monthly means.

    Straight lines join the middles of the months. The values there are those for which the days
    of each month have its mean, which the monthly means themselves in the middles have not: lines
    would cut off what is above them in July and below them in January.

    Parameters
    ----------
    monthly
        Twelve means, January first.

    Returns
    -------
    array
        Of 366 days.

    References
    ----------
    Sheng and Zwiers (1998), Climate Dynamics 14, 609-613, from memory.
    """
    weights = _weights()
    month_of_day = np.repeat(np.arange(12), LONGEST_D)
    means = np.array([weights[month_of_day == month].mean(axis=0) for month in range(12)])
    curve: Array = weights @ np.linalg.solve(means, monthly)
    return curve


def never_negative(monthly: Array) -> Array:
    """Return a year of days that keeps monthly means and is nowhere below nothing.

    Parameters
    ----------
    monthly
        Twelve means, none negative, January first.

    Returns
    -------
    array
        Of 366 days.
    """
    curve = np.maximum(smooth(monthly), 0.0)
    month_of_day = np.repeat(np.arange(12), LONGEST_D)
    means = np.bincount(month_of_day, curve) / LONGEST_D
    factors = np.divide(monthly, means, out=np.zeros(12), where=means > 0.0)
    kept: Array = curve * factors[month_of_day]
    return kept


def _weights() -> Array:
    """Return how much of the middle of each month there is in each day; (days, months)."""
    ends = np.cumsum(LONGEST_D)
    middles = ends - np.array(LONGEST_D) / 2
    around = np.concatenate([[middles[-1] - YEAR_D], middles, [middles[0] + YEAR_D]])
    days = np.arange(YEAR_D) + 0.5
    before = np.searchsorted(around, days, side="right") - 1
    after_share = (days - around[before]) / (around[before + 1] - around[before])
    weights = np.zeros((YEAR_D, 12))
    rows = np.arange(YEAR_D)
    np.add.at(weights, (rows, (before - 1) % 12), 1.0 - after_share)
    np.add.at(weights, (rows, before % 12), after_share)
    return weights
