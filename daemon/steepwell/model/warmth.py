"""Learns from a probe how a vessel follows the air and how far the sun warms it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from steepwell.model.vessel import time_constant_h

if TYPE_CHECKING:
    from steepwell.model.values import Array, Values

Insulation = Literal["none", "jacketed", "sunk"]

# FAO-56 eq. 50 has 0.16 inland, eq. 52 is 0.0023 (T + 17.8) √TR Ra, Ra in mm by 0.408.
SUN_BY_ET0 = 0.16 / (0.0023 * 0.408)
HARGREAVES_C = 17.8
# Where eq. 52 comes near to its zero, in the hardest frost, it says nothing of the sun.
LEAST_WARMTH_C = 5.0
# How far a sunny day holds a vessel above the air. From memory: bare plastic half in the shade
# takes up about a twentieth of the sun on level ground by each square metre of its surface, and
# loses 10 W/(m2 K); straw or fleece is pale; of a sunk vessel the lid is in the sun.
SUN_K_PER_MJ: dict[Insulation, float] = {"none": 0.045, "jacketed": 0.03, "sunk": 0.015}
SUN_SPREAD = 0.6
OFFSET_SD_C = 0.5
LAG_SPREAD = 0.3
LAG_BOUNDS = (0.5, 2.0)
MOST_SUN = 4.0
# What a day's mean is off the model for reasons of that day: wind, cloud at noon, a lid left open.
# It stays for some days, so that it counts for more than its size.
DAY_SD_C = 0.8
GRID = 11


@dataclass(frozen=True, slots=True)
class Warmth:
    """How a vessel follows the air, and how sure that is.

    Attributes
    ----------
    time_constant_h
        Time in which all but 1/e of a difference has gone [h].
    sun_k
        Kelvins above the air in the long run for each MJ/m2 of a day's sun [K m2/MJ].
    offset_c
        Kelvins above the air in the long run without sun [K].
    sun_var, offset_var, both_var
        Variances of both and their covariance.
    """

    time_constant_h: float
    sun_k: float
    offset_c: float
    sun_var: float
    offset_var: float
    both_var: float = 0.0


def solar_by_et0_mj(et0_mm: Values, mean_c: Values) -> Values:
    """Return the sunshine that a day's evapotranspiration by temperature stands for.

    Parameters
    ----------
    et0_mm
        Reference evapotranspiration of the day by Hargreaves, corrected or not [mm].
    mean_c
        Mean temperature of the day [°C].

    Returns
    -------
    float or array
        Solar radiation Rs on level ground [MJ/m2].

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, eq. 50, p. 60, and eq. 52, p. 64:
    both hold the root of the temperature range and Ra, which fall out.
    """
    warmth = np.maximum(mean_c + HARGREAVES_C, LEAST_WARMTH_C)
    sun: Values = et0_mm * SUN_BY_ET0 / warmth
    return sun


def presumed_warmth(volume_l: float, insulation: Insulation) -> Warmth:
    """Return what is presumed of a vessel before it was measured.

    Parameters
    ----------
    volume_l
        Liquid in the vessel [L].
    insulation
        ``none``, ``jacketed`` or ``sunk`` [-].

    Returns
    -------
    Warmth
        With the spread between one vessel and the next [-].

    Raises
    ------
    ValueError
        If there is no liquid, or the insulation is none of the three.

    References
    ----------
    Newton's law of cooling for a well-mixed body; conductances and the share of the sun from
    memory.
    """
    sun_k = SUN_K_PER_MJ.get(insulation, 0.0)
    return Warmth(
        time_constant_h(volume_l, insulation), sun_k, 0.0, (SUN_SPREAD * sun_k) ** 2, OFFSET_SD_C**2
    )


def learned_warmth(presumed: Warmth, measured_c: Array, air_c: Array, sun_mj: Array) -> Warmth:
    """Return what the mean temperatures of a vessel teach of it.

    Sun gain and offset by least squares on what air alone does not explain, drawn to what is
    presumed by its spread; the time constant by trying those within half and twice the presumed
    one, each with the weight of how well it fits.

    Parameters
    ----------
    presumed
        What is thought of it beforehand [h, K m2/MJ, K].
    measured_c
        Mean temperature of the liquid on each of some days in a row, NaN where not known [°C].
    air_c
        Mean temperature of the air on the same days [°C].
    sun_mj
        Solar radiation on level ground on the same days [MJ/m2].

    Returns
    -------
    Warmth
        As presumed where there are no two days in a row; sun gain between nothing and four times
        the presumed one [h, K m2/MJ, K].

    References
    ----------
    Bayes' rule for a linear model with normal errors; Newton's law of cooling in daily steps.
    """
    factors = np.geomspace(*LAG_BOUNDS, GRID)
    tau_h = presumed.time_constant_h * factors
    columns, missed = _responses(tau_h, measured_c, air_c, sun_mj)
    if not len(missed):
        return presumed
    before = np.diag([1.0 / presumed.sun_var, 1.0 / presumed.offset_var])
    expected = np.array([presumed.sun_k, presumed.offset_c])
    precision = before + np.einsum("dik,djk->kij", columns, columns) / DAY_SD_C**2
    gained = np.einsum("dik,dk->ki", columns, missed) / DAY_SD_C**2
    covariance = np.linalg.inv(precision)
    mean = np.einsum("kij,kj->ki", covariance, before @ expected + gained)
    left = missed - np.einsum("dik,ki->dk", columns, mean)
    moved = mean - expected
    misfit = (left**2).sum(axis=0) / DAY_SD_C**2 + np.einsum("ki,ij,kj->k", moved, before, moved)
    misfit += (np.log(factors) / LAG_SPREAD) ** 2 - np.linalg.slogdet(covariance)[1]
    chances = np.exp(-0.5 * (misfit - misfit.min()))
    chances /= chances.sum()
    sun_k, offset_c = chances @ mean
    apart = mean - (sun_k, offset_c)
    spread = np.einsum("k,kij->ij", chances, covariance + apart[:, :, None] * apart[:, None, :])
    return Warmth(
        math.exp(float(chances @ np.log(tau_h))),
        float(np.clip(sun_k, 0.0, MOST_SUN * presumed.sun_k)),
        float(offset_c),
        float(spread[0, 0]),
        float(spread[1, 1]),
        float(spread[0, 1]),
    )


def _responses(tau_h: Array, measured_c: Array, air_c: Array, sun_mj: Array) -> tuple[Array, Array]:
    """Return what sun and offset do on each day, and what air leaves unexplained, for each lag.

    A run of days begins with what was measured on its first, which teaches nothing itself.
    """
    kept = np.exp(-24.0 / tau_h)
    share = (1.0 - kept) * tau_h / 24.0
    columns, missed = [], []
    end = np.empty((3, len(tau_h)))
    fresh = True
    for measured, air, sun in zip(measured_c, air_c, sun_mj, strict=True):
        if not math.isfinite(measured + air + sun):
            fresh = True
            continue
        if fresh:
            end[:] = np.array([[measured], [0.0], [0.0]])
            fresh = False
            continue
        rest = np.array([[air], [sun], [1.0]])
        mean = rest + (end - rest) * share
        end = rest + (end - rest) * kept
        missed.append(measured - mean[0])
        columns.append(mean[1:])
    return np.array(columns), np.array(missed)
