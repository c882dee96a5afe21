"""A day of a bed with the dual crop coefficient: the surface dries, the crop draws."""

from __future__ import annotations

from typing import Any, Generic, NamedTuple

import numpy as np

from steepwell.model.crop import MULCH_EFFECT
from steepwell.model.evaporation import LEAST_FALLING_MM
from steepwell.model.values import Values

# A buffer that is filled in place; ``[()]`` makes a plain number of one that has no shape.
Buffer = Any


class DualDay(NamedTuple, Generic[Values]):
    """A bed at the end of a day, and what it lost.

    Attributes
    ----------
    surface_mm
        Depletion of the surface layer, De [mm].
    depletion_mm
        Depletion of the root zone, Dr [mm].
    evaporation_mm
        Evaporation from the soil, over the whole bed [mm].
    eta_mm
        Evaporation and what the crop drew, never more than the root zone held [mm].
    percolation_mm
        Water lost below the roots [mm].
    """

    surface_mm: Values
    depletion_mm: Values
    evaporation_mm: Values
    eta_mm: Values
    percolation_mm: Values


def surface_percolation_mm(surface_mm: Values, water_mm: Values | float) -> Values:
    """Return the water that runs through the surface layer.

    Parameters
    ----------
    surface_mm
        Depletion of the layer before the water [mm].
    water_mm
        Rain, and watering over the share of the ground it wetted [mm].

    Returns
    -------
    float or array
        Percolation out of the layer, DPe [mm].

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, eq. 79, p. 156.
    """
    through: Values = np.maximum(water_mm - surface_mm, 0.0)
    return through


def surface_step(
    surface_mm: Values,
    *,
    water_mm: Values | float,
    et0_mm: Values | float,
    kcb: Values | float,
    kc_max: Values | float,
    exposed: Values | float,
    tew_mm: Values | float,
    rew_mm: Values | float,
    mulch_cover: Values | float = 0.0,
) -> tuple[Values, Values]:
    """Carry the surface layer through one day.

    The day's water comes before its evaporation, as in Example 35 and Annex 8 of the source; what
    is beyond field capacity runs through. Roots take nothing from the layer.

    Parameters
    ----------
    surface_mm
        Depletion De at the start of the day, of the shape that the result has; what is beyond TEW
        is cut off [mm].
    water_mm
        Rain, and watering over the share of the ground it wetted [mm].
    et0_mm
        Reference evapotranspiration [mm].
    kcb
        Basal crop coefficient [-].
    kc_max
        Upper limit of the crop coefficient [-].
    exposed
        Exposed and wetted share of the ground, few, above 0 [-].
    tew_mm
        Total evaporable water [mm].
    rew_mm
        Readily evaporable water; more than ``tew_mm`` counts as ``tew_mm`` [mm].
    mulch_cover
        Share of the ground under an organic mulch, 0 to 1 [-].

    Returns
    -------
    surface_mm : float or array
        Depletion at the end of the day, between 0 and TEW [mm].
    evaporation_mm : float or array
        Evaporation over the whole bed, never more than the layer held [mm].

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, eq. 71, 74, 77 and 78, p. 142 to
    153; mulch, ch. 10, p. 198.
    """
    bare = 1.0 - MULCH_EFFECT * mulch_cover
    energy = (kc_max - kcb) * bare / exposed
    most = np.minimum(energy, kc_max * bare)
    shape = np.shape(surface_mm)
    # Buffers are filled in place, and in this order of operations: on arrays, nearly all of the
    # time goes into fetching memory, and into operands that are a number for each bed.
    surface: Buffer = np.minimum(surface_mm, tew_mm, out=np.empty(shape))
    surface -= water_mm
    np.maximum(surface, 0.0, out=surface)
    left: Buffer = np.subtract(tew_mm, surface, out=np.empty(shape))
    evaporation: Buffer = np.multiply(
        left, energy / np.maximum(tew_mm - rew_mm, LEAST_FALLING_MM), out=np.empty(shape)
    )
    np.minimum(evaporation, most, out=evaporation)
    evaporation *= et0_mm
    np.minimum(evaporation, left, out=evaporation)
    surface += evaporation
    evaporation *= exposed
    return surface[()], evaporation[()]


def dual_step(
    surface_mm: Values,
    depletion_mm: Values,
    *,
    rain_mm: Values | float,
    irrigation_mm: Values | float,
    et0_mm: Values | float,
    kcb: Values | float,
    kc_max: Values | float,
    exposed: Values | float,
    tew_mm: Values | float,
    rew_mm: Values | float,
    taw_mm: Values | float,
    raw_mm: Values | float,
    wetted: Values | float = 1.0,
    mulch_cover: Values | float = 0.0,
) -> DualDay[Values]:
    """Carry the surface layer and the root zone of a bed through one day.

    The day's water comes early in the day, in both balances, as in Examples 35 and 38 of the
    source (and not as eq. 88 reads): it refills them, what is beyond field capacity percolates,
    and then soil and crop draw from what is left. Stress is that of the soil after the water, and
    lowers what the crop draws, not evaporation.

    Parameters
    ----------
    surface_mm
        Depletion De of the surface layer at the start of the day, of the shape that the result
        has; what is beyond TEW is cut off [mm].
    depletion_mm
        Depletion Dr of the root zone at the start of the day, of the same shape; what is beyond
        TAW is cut off [mm].
    rain_mm
        Rain that enters the soil [mm].
    irrigation_mm
        Water given, over the whole bed [mm].
    et0_mm
        Reference evapotranspiration [mm].
    kcb
        Basal crop coefficient [-].
    kc_max
        Upper limit of the crop coefficient [-].
    exposed
        Exposed and wetted share of the ground, few, above 0 [-].
    tew_mm
        Total evaporable water [mm].
    rew_mm
        Readily evaporable water; more than ``tew_mm`` counts as ``tew_mm`` [mm].
    taw_mm
        Total available water of the root zone [mm].
    raw_mm
        Readily available water, below ``taw_mm`` [mm].
    wetted
        Share of the ground that watering wets, fw, above 0 [-].
    mulch_cover
        Share of the ground under an organic mulch, 0 to 1 [-].

    Returns
    -------
    DualDay
        Depletions at the end of the day, evaporation, evapotranspiration and percolation [mm].

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, eq. 71, 74, 77, 78, 80 and 84 to
    86, p. 142 to 171; Example 35, p. 154 to 155; Annex 8, p. 269 to 280.
    """
    water = rain_mm + irrigation_mm
    wets_all = isinstance(wetted, float) and wetted >= 1.0
    surface, evaporation = surface_step(
        surface_mm,
        water_mm=water if wets_all else rain_mm + irrigation_mm / wetted,
        et0_mm=et0_mm,
        kcb=kcb,
        kc_max=kc_max,
        exposed=exposed,
        tew_mm=tew_mm,
        rew_mm=rew_mm,
        mulch_cover=mulch_cover,
    )
    shape = np.shape(depletion_mm)
    depletion: Buffer = np.minimum(depletion_mm, taw_mm, out=np.empty(shape))
    np.subtract(water, depletion, out=depletion)
    percolation: Buffer = np.maximum(depletion, 0.0, out=np.empty(shape))
    np.subtract(percolation, depletion, out=depletion)
    held: Buffer = np.subtract(taw_mm, depletion, out=np.empty(shape))
    eta: Buffer = np.multiply(held, kcb / (taw_mm - raw_mm), out=np.empty(shape))
    np.minimum(eta, kcb, out=eta)
    eta *= et0_mm
    eta += evaporation
    np.minimum(eta, held, out=eta)
    depletion += eta
    return DualDay(surface, depletion[()], evaporation, eta[()], percolation[()])
