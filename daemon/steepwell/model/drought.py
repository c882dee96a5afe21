"""How unusual a dry time is: the standardized precipitation index against a record."""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist
from typing import TYPE_CHECKING, Literal

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from steepwell.model.values import Values

Wetness = Literal[
    "extremely dry",
    "severely dry",
    "moderately dry",
    "near normal",
    "moderately wet",
    "very wet",
    "extremely wet",
]
DRY_UP_TO: tuple[tuple[float, Wetness], ...] = (
    (-2.0, "extremely dry"),
    (-1.5, "severely dry"),
    (-1.0, "moderately dry"),
)
WET_FROM: tuple[tuple[float, Wetness], ...] = (
    (2.0, "extremely wet"),
    (1.5, "very wet"),
    (1.0, "moderately wet"),
)
# No record is long enough to tell what is rarer than once in a thousand; SPI ends at 3.09.
RAREST = 0.001
LEAST_AMOUNTS = 2
PRECISION = 1e-16


@dataclass(frozen=True, slots=True)
class RainFit:
    """A gamma distribution of the totals of one time of year, with a class for no rain.

    Parameters
    ----------
    shape
        Shape of the gamma distribution [-].
    scale_mm
        Its scale [mm].
    dry_share
        Share of years without any rain in that time [-].
    """

    shape: float
    scale_mm: float
    dry_share: float


def fit_rain(totals_mm: ArrayLike) -> RainFit:
    """Return the distribution of rain at one time of year.

    Parameters
    ----------
    totals_mm
        Total of the same month, or of the same months together, in each year; 20 years at least,
        30 and more are better. Years that are not a number are left out [mm].

    Returns
    -------
    RainFit
        The distribution, by Thom's approximation to greatest likelihood [mm].

    Raises
    ------
    ValueError
        If a total is negative, or there are not two different amounts of rain to fit.

    References
    ----------
    McKee, Doesken and Kleist (1993), 8th Conference on Applied Climatology; Thom (1966), WMO
    Technical Note 81; WMO-No. 1090 (2012).
    """
    totals = np.asarray(totals_mm, dtype=np.float64)
    totals = totals[~np.isnan(totals)]
    wet = totals[totals > 0.0]
    if np.any(totals < 0.0) or len(np.unique(wet)) < LEAST_AMOUNTS:
        raise ValueError("a fit needs two different amounts of rain or more, none negative")
    mean = float(wet.mean())
    spread = math.log(mean) - float(np.log(wet).mean())
    shape = (1.0 + math.sqrt(1.0 + 4.0 * spread / 3.0)) / (4.0 * spread)
    return RainFit(shape, mean / shape, 1.0 - len(wet) / len(totals))


def spi(total_mm: Values, fit: RainFit) -> Values:
    """Return the standardized precipitation index.

    Parameters
    ----------
    total_mm
        Rain of the time of year that was fitted [mm].
    fit
        Distribution of such totals, its scale in mm [-].

    Returns
    -------
    float or array
        Index between -3.09 and 3.09; below nothing is drier than usual [-].

    References
    ----------
    McKee, Doesken and Kleist (1993), 8th Conference on Applied Climatology; WMO-No. 1090 (2012).
    """
    index: Values = np.vectorize(_spi_of_one, otypes=[np.float64])(total_mm, fit)[()]
    return index


def wetness(spi: float) -> Wetness:
    """Return the class of an index in words.

    Parameters
    ----------
    spi
        Standardized precipitation index [-].

    Returns
    -------
    str
        ``extremely dry`` to ``extremely wet`` [-].

    References
    ----------
    WMO-No. 1090 (2012), Table 1.
    """
    for limit, name in DRY_UP_TO:
        if spi <= limit:
            return name
    for limit, name in WET_FROM:
        if spi >= limit:
            return name
    return "near normal"


def _spi_of_one(total_mm: float, fit: RainFit) -> float:
    if math.isnan(total_mm):
        return math.nan
    rained = _gamma_share(fit.shape, max(total_mm, 0.0) / fit.scale_mm)
    share = fit.dry_share + (1.0 - fit.dry_share) * rained
    return NormalDist().inv_cdf(min(max(share, RAREST), 1.0 - RAREST))


def _gamma_share(shape: float, scaled: float) -> float:
    """Return the regularized lower incomplete gamma function by its power series."""
    if scaled <= 0.0:
        return 0.0
    if scaled > shape + 20.0 * math.sqrt(shape) + 50.0:
        return 1.0
    term = total = 1.0 / shape
    above = shape
    while term > PRECISION * total:
        above += 1.0
        term *= scaled / above
        total += term
    return total * math.exp(shape * math.log(scaled) - scaled - math.lgamma(shape))
