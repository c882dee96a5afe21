"""Evaporation from the surface of a bed: how wet it is, and what it loses in a day."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from steepwell.model.crop import MULCH_EFFECT

if TYPE_CHECKING:
    from steepwell.model.values import Values

LAYER_M = 0.10
LEAST_EXPOSED = 0.01
SIGNIFICANT_RAIN_MM = 3.0
# Keeps eq. 74 a number where the whole layer dries at the full rate.
LEAST_FALLING_MM = 1e-9


def total_evaporable_mm(
    field_capacity: Values,
    wilting_point: Values | float,
    *,
    layer_m: float = LAYER_M,
    residue_cover: Values | float = 0.0,
) -> Values:
    """Return the water that the surface layer can lose to the air when it dries out.

    Parameters
    ----------
    field_capacity, wilting_point
        Water content of the soil, volume by volume [m3/m3].
    layer_m
        Depth of the layer, 0.10 to 0.15 m [m].
    residue_cover
        Share of ground without a crop that lies under mulch or dead plants, 0 to 1; 0 under a
        crop, where mulch lowers the rate and not the amount [-].

    Returns
    -------
    float or array
        Total evaporable water, TEW [mm].

    Raises
    ------
    ValueError
        If the soil could lose nothing, or the cover is not between 0 and 1.

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, eq. 73, p. 144; ch. 11, p. 207 to
    208: less by 5 % for each 10 % covered, with fc of 0 and fw of 1.
    """
    if layer_m <= 0.0 or np.any(np.less_equal(field_capacity, 0.5 * wilting_point)):
        msg = f"{layer_m} m of soil between {wilting_point} and {field_capacity} evaporate nothing"
        raise ValueError(msg)
    _require_share(residue_cover)
    bare = 1000.0 * (field_capacity - 0.5 * wilting_point) * layer_m
    tew: Values = bare * (1.0 - MULCH_EFFECT * residue_cover)
    return tew


def evaporation_reduction(
    surface_mm: Values, tew_mm: Values | float, rew_mm: Values | float
) -> Values:
    """Return how far a drying surface holds evaporation back.

    Parameters
    ----------
    surface_mm
        Depletion of the surface layer [mm].
    tew_mm
        Total evaporable water [mm].
    rew_mm
        Readily evaporable water; more than ``tew_mm`` counts as ``tew_mm`` [mm].

    Returns
    -------
    float or array
        Reduction coefficient Kr, 1 up to REW and 0 at TEW [-].

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, eq. 74, p. 146; p. 208 on REW.
    """
    falling = np.maximum(tew_mm - rew_mm, LEAST_FALLING_MM)
    kr: Values = np.clip((tew_mm - surface_mm) / falling, 0.0, 1.0)
    return kr


def exposed_share(cover: Values, wetted: Values | float = 1.0) -> Values:
    """Return which share of the ground is both open to the sun and wetted.

    Parameters
    ----------
    cover
        Share of the ground under the crop, fc [-].
    wetted
        Share wetted by rain or watering, fw; for water given under the leaves, times
        1 - 2/3 ``cover`` [-].

    Returns
    -------
    float or array
        Exposed and wetted share few, 0.01 to 1 [-].

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, eq. 75, p. 147.
    """
    exposed: Values = np.clip(np.minimum(1.0 - cover, wetted), LEAST_EXPOSED, 1.0)
    return exposed


def wetted_share(
    before: Values,
    *,
    rain_mm: Values | float,
    irrigation_mm: Values | float,
    irrigation_share: Values | float,
) -> Values:
    """Return which share of the ground the last water wetted.

    Parameters
    ----------
    before
        That share on the day before [-].
    rain_mm
        Rain of the day; it wets all of the ground from 3 mm on [mm].
    irrigation_mm
        Water given that day, over the whole bed [mm].
    irrigation_share
        Share of the ground that watering wets [-].

    Returns
    -------
    float or array
        Share fw for this day [-].

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, p. 149, the rules under Table 20.
    """
    rained = np.greater_equal(rain_mm, SIGNIFICANT_RAIN_MM)
    watered = np.greater(irrigation_mm, 0.0)
    after_rain = before + rained * (1.0 - before)
    wetted: Values = after_rain + watered * (irrigation_share - after_rain)
    return wetted


def evaporation_coefficient(
    reduction: Values,
    *,
    kcb: Values | float,
    kc_max: Values | float,
    exposed: Values | float,
    mulch_cover: Values | float = 0.0,
) -> Values:
    """Return the part of the crop coefficient that is evaporation from the soil.

    Parameters
    ----------
    reduction
        Reduction coefficient Kr [-].
    kcb
        Basal crop coefficient [-].
    kc_max
        Upper limit of the crop coefficient [-].
    exposed
        Exposed and wetted share of the ground, few [-].
    mulch_cover
        Share of the ground under an organic mulch, 0 to 1 [-].

    Returns
    -------
    float or array
        Evaporation coefficient Ke [-].

    Raises
    ------
    ValueError
        If the mulch does not cover between 0 and 1 of the ground.

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, eq. 71, p. 142; ch. 10, p. 198:
    less by 5 % for each 10 % covered.
    """
    _require_share(mulch_cover)
    bare = np.minimum(reduction * (kc_max - kcb), exposed * kc_max)
    ke: Values = bare * (1.0 - MULCH_EFFECT * mulch_cover)
    return ke


def _require_share(cover: Values | float) -> None:
    if np.any(np.less(cover, 0.0)) or np.any(np.greater(cover, 1.0)):
        raise ValueError(f"cover must lie between 0 and 1, not {cover}")
