"""What climate and the height and cover of a crop make of its coefficients."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from steepwell.model.values import Values

# Below this a tabulated coefficient belongs to a crop that dries in the field.
LEAST_ADJUSTED_KC = 0.45
# Lower plants are as smooth to the wind as the grass of the reference.
LEAST_HEIGHT_M = 0.1
MOST_COVER = 0.99
WET_SOIL_KC = 1.2
LEAST_WET_GAIN = 0.05


def climate_adjusted_kc(
    kc: Values,
    *,
    wind_m_s: Values | float,
    least_humidity_pct: Values | float,
    height_m: Values | float,
) -> Values:
    """Return a tabulated mid-season or end coefficient as the local climate has it.

    Parameters
    ----------
    kc
        Kc or Kcb in mid-season or at the end, as tabulated for a sub-humid climate with moderate
        wind [-].
    wind_m_s
        Mean wind at 2 m in that stage, brought to between 1 and 6 m/s [m/s].
    least_humidity_pct
        Mean of the day's least relative humidity, brought to between 20 and 80 % [%].
    height_m
        Height of the crop; under 0.1 m nothing is adjusted, over 10 m counts as 10 m [m].

    Returns
    -------
    float or array
        The coefficient for this climate; below 0.45 it stays as it is [-].

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, eq. 62, 65 and 70, p. 123 to 127
    and 136.
    """
    gain = _climate_gain(wind_m_s, least_humidity_pct, np.minimum(height_m, 10.0))
    applies = np.greater_equal(kc, LEAST_ADJUSTED_KC) & np.greater_equal(height_m, LEAST_HEIGHT_M)
    adjusted: Values = kc + gain * applies
    return adjusted


def most_kc(
    kcb: Values,
    *,
    height_m: Values | float,
    wind_m_s: Values | float = 2.0,
    least_humidity_pct: Values | float = 45.0,
) -> Values:
    """Return the most that crop and wet soil together can evaporate.

    Parameters
    ----------
    kcb
        Basal crop coefficient of the day [-].
    height_m
        Height of the crop [m].
    wind_m_s
        Wind at 2 m, brought to between 1 and 6 m/s [m/s].
    least_humidity_pct
        The day's least relative humidity, brought to between 20 and 80 % [%].

    Returns
    -------
    float or array
        Upper limit of the crop coefficient, Kc max [-].

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, eq. 72, p. 143; its 1.2 is for soil
    wetted every three days or less often.
    """
    limit = WET_SOIL_KC + _climate_gain(wind_m_s, least_humidity_pct, height_m)
    most: Values = np.maximum(limit, kcb + LEAST_WET_GAIN)
    return most


def ground_cover(
    kcb: Values,
    *,
    kc_max: Values | float,
    height_m: Values | float,
    bare_kcb: Values | float = 0.15,
) -> Values:
    """Return which share of the ground the crop covers, told from its stage and height.

    Parameters
    ----------
    kcb
        Basal crop coefficient of the day [-].
    kc_max
        Upper limit of the crop coefficient, above ``bare_kcb`` [-].
    height_m
        Height of the crop [m].
    bare_kcb
        Coefficient of dry bare soil, Kc min [-].

    Returns
    -------
    float or array
        Cover fc, 0 to 0.99 [-].

    Raises
    ------
    ValueError
        If ``kc_max`` does not lie above ``bare_kcb``.

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, eq. 76, p. 149 to 150. The source
    keeps Kcb - Kc min at 0.01 or more; at 0.01 the cover is under 1 %, so bare ground counts as
    bare here.
    """
    if np.any(np.less_equal(kc_max, bare_kcb)):
        raise ValueError(f"kc_max {kc_max} must lie above that of bare soil, {bare_kcb}")
    share = np.maximum(kcb - bare_kcb, 0.0) / (kc_max - bare_kcb)
    cover: Values = np.minimum(share ** (1.0 + 0.5 * height_m), MOST_COVER)
    return cover


def _climate_gain(
    wind_m_s: Values | float, least_humidity_pct: Values | float, height_m: Values | float
) -> Values | float:
    wind = np.clip(wind_m_s, 1.0, 6.0)
    humidity = np.clip(least_humidity_pct, 20.0, 80.0)
    gain: Values | float = (0.04 * (wind - 2.0) - 0.004 * (humidity - 45.0)) * (
        height_m / 3.0
    ) ** 0.3
    return gain
