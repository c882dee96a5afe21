"""Members of future weather made from monthly normals, where there is no long daily record."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from steepwell.garden.weather import WET_DAY_MM
from steepwell.outlook.normals import day_of_leap_year

if TYPE_CHECKING:
    from datetime import date

    from steepwell.outlook.normals import DailyNormals

# How much likelier rain is on the day after a wet one than after a dry one.
PERSISTENCE = 0.25
# Shape of the gamma distribution of what a wet day has above 1 mm.
AMOUNT_SHAPE = 0.85
LEAST_MEAN_ABOVE_MM = 0.1
# Settled and unsettled weather, as a spread of the log-odds of rain and the days it lasts. A chain
# that knows only yesterday has a third of the dry spells of 15 days and 60 % of the variance of
# monthly rain. Fitted to Brussels (1977 to 1980, 1982 to 2005), and holds in Cambridge.
SETTLED_SPREAD = 1.2
SETTLED_D = 4.0
# A dry day against a wet one, in the coldest and in the warmest part of the year [°C]. Fitted to
# the same years, as all that follows.
DRY_TMIN_C = (-2.2, 0.7)
DRY_TMAX_C = (-1.9, 2.2)
# What settled weather (by one standard deviation) does to the extremes beyond that [°C]; its size
# was set on all years of Brussels, those that tests replay among them.
SETTLED_TMIN_C = (0.0, 0.3)
SETTLED_TMAX_C = (0.0, 1.2)
# Spread of the extremes about their means, likewise [°C].
SPREAD_TMIN_C = (4.1, 2.4)
SPREAD_TMAX_C = (4.0, 3.5)
# How Tmin and Tmax of a day go together, and each (rows) with both of the day before (columns).
TOGETHER = np.array([[1.0, 0.76], [0.76, 1.0]])
DAY_AFTER = np.array([[0.73, 0.73], [0.57, 0.70]])
LEAST_RANGE_C = 0.5

Array = NDArray[np.float64]
Wet = NDArray[np.bool_]


class Days(NamedTuple):
    """Generated weather; arrays are (days, members) [mm, °C, °C]."""

    rain_mm: Array
    tmin_c: Array
    tmax_c: Array


def generate(normals: DailyNormals, first: date, days: int, members: int, *, seed: int) -> Days:
    """Make futures that have the normals as their means.

    Wet days follow from yesterday's being wet or dry and from how settled the weather is, amounts
    are drawn from a gamma distribution, temperatures are the seasonal means, cooler by day in
    summer and milder in winter when it rains, with a residual that remembers the day before.

    Parameters
    ----------
    normals
        What is usual.
    first
        The first day.
    days
        How many [d].
    members
        How many futures.
    seed
        Equal seeds make equal futures.

    Returns
    -------
    Days
        Rain [mm], Tmin and Tmax [°C].

    References
    ----------
    Richardson (1981), Water Resources Research 17, 182-190, on the whole; Geng, Penning de Vries
    and Supit (1986), Agricultural and Forest Meteorology 36, 363-376, on the chain: the chance
    of rain after a dry day is 0.75 of the share of wet days, after a wet day 0.25 more. Both from
    memory.
    """
    rng = np.random.default_rng(seed)
    at = np.array([day_of_leap_year(first + timedelta(days=day)) for day in range(days)])
    share = normals.wet_share[at]
    wet, settled = _wet_days(share, members, rng)
    rain = np.where(wet, _amounts(normals.rain_mm[at], share, members, rng), 0.0)
    return Days(rain, *_temperatures(normals, at, wet, settled, rng))


def _wet_days(share: Array, members: int, rng: np.random.Generator) -> tuple[Wet, Array]:
    """Return which days are wet, and how settled the weather is, in standard deviations."""
    middle = _middle_odds(share)
    keeps = np.exp(-1.0 / SETTLED_D)
    settled = rng.standard_normal((len(share), members))
    yesterday = rng.random(members) < share[0]
    wet = np.zeros((len(share), members), dtype=bool)
    for day in range(len(share)):
        if day:
            settled[day] = keeps * settled[day - 1] + np.sqrt(1 - keeps**2) * settled[day]
        today = _chance(middle[day] - SETTLED_SPREAD * settled[day])
        chance = (1.0 - PERSISTENCE) * today + PERSISTENCE * yesterday
        yesterday = wet[day] = rng.random(members) < chance
    return wet, settled


def _middle_odds(share: Array) -> Array:
    """Return the log-odds around which those of members lie so that the share comes out."""
    nodes, weights = np.polynomial.hermite_e.hermegauss(15)
    odds = np.linspace(-15.0, 15.0, 601)
    shares = _chance(odds[:, None] + SETTLED_SPREAD * nodes) @ weights / weights.sum()
    return np.interp(share, shares, odds)


def _chance(log_odds: Array) -> Array:
    return 1.0 / (1.0 + np.exp(-log_odds))


def _amounts(mean_mm: Array, share: Array, members: int, rng: np.random.Generator) -> Array:
    """Return what falls on each day if it is wet, 1 mm and more."""
    on_wet_days = np.divide(mean_mm, share, out=np.zeros_like(mean_mm), where=share > 0.0)
    above = np.maximum(on_wet_days - WET_DAY_MM, LEAST_MEAN_ABOVE_MM)
    drawn = rng.standard_gamma(AMOUNT_SHAPE, (len(mean_mm), members))
    return WET_DAY_MM + drawn * (above / AMOUNT_SHAPE)[:, None]


def _temperatures(
    normals: DailyNormals,
    at: NDArray[np.int_],
    wet: Wet,
    settled: Array,
    rng: np.random.Generator,
) -> tuple[Array, Array]:
    middle = (normals.tmin_c + normals.tmax_c) / 2
    warmth = ((middle - middle.min()) / max(float(np.ptp(middle)), 1.0))[at, None]
    # Dry days get the share of the difference that keeps the mean of all days.
    dry = normals.wet_share[at, None] - wet
    residual = _residuals(len(wet), wet.shape[1], rng)
    tmin = (
        normals.tmin_c[at, None]
        + _between(DRY_TMIN_C, warmth) * dry
        + _between(SETTLED_TMIN_C, warmth) * settled
        + _between(SPREAD_TMIN_C, warmth) * residual[0]
    )
    tmax = (
        normals.tmax_c[at, None]
        + _between(DRY_TMAX_C, warmth) * dry
        + _between(SETTLED_TMAX_C, warmth) * settled
        + _between(SPREAD_TMAX_C, warmth) * residual[1]
    )
    # A night warmer than its day is drawn now and then in winter.
    middle_c = (tmin + tmax) / 2
    half = np.maximum(tmax - tmin, LEAST_RANGE_C) / 2
    return middle_c - half, middle_c + half


def _between(ends: tuple[float, float], warmth: Array) -> Array:
    cold, warm = ends
    return cold + (warm - cold) * warmth


def _residuals(days: int, members: int, rng: np.random.Generator) -> Array:
    """Return residuals of Tmin and of Tmax of unit variance; (2, days, members)."""
    keeps = DAY_AFTER @ np.linalg.inv(TOGETHER)
    news = np.linalg.cholesky(TOGETHER - keeps @ DAY_AFTER.T)
    drawn = rng.standard_normal((days, 2, members))
    residual = np.empty((2, days, members))
    residual[:, 0] = np.linalg.cholesky(TOGETHER) @ drawn[0]
    for day in range(1, days):
        residual[:, day] = keeps @ residual[:, day - 1] + news @ drawn[day]
    return residual
