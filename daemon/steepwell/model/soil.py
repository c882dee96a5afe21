"""The water in the root zone of a bed, and what its crop draws from it in a day."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from steepwell.model.values import Values

LEAST_P = 0.1
MOST_P = 0.8


def taw_mm(
    root_depth_m: Values, field_capacity: Values | float, wilting_point: Values | float
) -> Values:
    """Return the total available water of the root zone.

    Parameters
    ----------
    root_depth_m
        Depth of the roots [m].
    field_capacity, wilting_point
        Water content of the soil, volume by volume [m3/m3].

    Returns
    -------
    float or array
        Total available water, TAW [mm].

    Raises
    ------
    ValueError
        If the soil holds no more at field capacity than at the wilting point.

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, eq. 82, p. 162.
    """
    if np.any(np.less_equal(field_capacity, wilting_point)):
        msg = f"field capacity {field_capacity} must lie above wilting point {wilting_point}"
        raise ValueError(msg)
    taw: Values = 1000.0 * (field_capacity - wilting_point) * root_depth_m
    return taw


def adjusted_p(p: Values | float, etc_mm: Values) -> Values:
    """Return the depletion fraction for the day's demand.

    Parameters
    ----------
    p
        Share of TAW a crop can draw without stress when ETc is 5 mm/d [-].
    etc_mm
        Crop evapotranspiration of the day without stress [mm].

    Returns
    -------
    float or array
        The share for this day, between 0.1 and 0.8 [-].

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, p. 162.
    """
    share: Values = np.clip(p + 0.04 * (5.0 - etc_mm), LEAST_P, MOST_P)
    return share


def raw_mm(taw_mm: Values, p: Values | float) -> Values:
    """Return the readily available water of the root zone.

    Parameters
    ----------
    taw_mm
        Total available water [mm].
    p
        Share of it that a crop can draw without stress [-].

    Returns
    -------
    float or array
        Readily available water, RAW [mm].

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, eq. 83, p. 162.
    """
    raw: Values = p * taw_mm
    return raw


def stress_coefficient(
    depletion_mm: Values, taw_mm: Values | float, raw_mm: Values | float
) -> Values:
    """Return the share of its full demand that a crop can still draw.

    Parameters
    ----------
    depletion_mm
        Root-zone depletion, 0 at field capacity and TAW at the wilting point [mm].
    taw_mm
        Total available water [mm].
    raw_mm
        Readily available water, below ``taw_mm`` [mm].

    Returns
    -------
    float or array
        Water-stress coefficient Ks, 1 without stress and 0 at the wilting point [-].

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, eq. 84, p. 169.
    """
    ks: Values = np.clip((taw_mm - depletion_mm) / (taw_mm - raw_mm), 0.0, 1.0)
    return ks


def root_zone_step(
    depletion_mm: Values,
    *,
    rain_mm: Values | float,
    irrigation_mm: Values | float,
    etc_mm: Values | float,
    taw_mm: Values | float,
    raw_mm: Values | float,
) -> tuple[Values, Values, Values]:
    """Carry the root zone through one day.

    The day's water arrives before the day's evapotranspiration, as in Example 38 of the source
    (and not as eq. 88 reads): it refills the root zone, what is beyond field capacity percolates,
    and the crop draws from what is left. Stress is that of the soil after the water, so a bed
    watered in the morning does not suffer that day.

    Parameters
    ----------
    depletion_mm
        Depletion at the start of the day, of the shape that the result has; what is beyond TAW
        is cut off [mm].
    rain_mm
        Rain that enters the soil [mm].
    irrigation_mm
        Water given [mm].
    etc_mm
        Crop evapotranspiration of the day without stress [mm].
    taw_mm
        Total available water [mm].
    raw_mm
        Readily available water, below ``taw_mm`` [mm].

    Returns
    -------
    depletion_mm : float or array
        Depletion at the end of the day, between 0 and TAW [mm].
    eta_mm : float or array
        Actual evapotranspiration, never more than the soil holds [mm].
    percolation_mm : float or array
        Water lost below the roots [mm].

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, eq. 84 to 86, p. 169 to 171;
    Example 38, p. 172 to 173.
    """
    # Worked in place: on arrays, most of the time would otherwise go into fetching memory.
    depletion: Values = np.minimum(depletion_mm, taw_mm)
    depletion -= rain_mm
    depletion -= irrigation_mm
    percolation: Values = np.minimum(depletion, 0.0)
    depletion -= percolation
    held: Values = taw_mm - depletion
    eta: Values = held * (1.0 / (taw_mm - raw_mm))
    eta = np.minimum(eta, 1.0)
    eta *= etc_mm
    eta = np.minimum(eta, held)
    depletion += eta
    return depletion, eta, abs(percolation)
