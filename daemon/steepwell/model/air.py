"""The air over a garden: its pressure, its water vapour, its wind."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from steepwell.model.values import Values

# Of the wet-bulb thermometer: blown at some 5 m/s, in natural wind of about 1 m/s, indoors.
VENTILATED_PER_C = 0.000662
LEAST_WIND_HEIGHT_M = 0.1


def pressure_kpa(elevation_m: Values) -> Values:
    """Return the pressure of the atmosphere.

    Parameters
    ----------
    elevation_m
        Height above sea level [m].

    Returns
    -------
    float or array
        Mean atmospheric pressure, P [kPa].

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, eq. 7, p. 31.
    """
    pressure: Values = 101.3 * ((293.0 - 0.0065 * elevation_m) / 293.0) ** 5.26
    return pressure


def psychrometric_constant_kpa_c(pressure_kpa: Values) -> Values:
    """Return the psychrometric constant.

    Parameters
    ----------
    pressure_kpa
        Atmospheric pressure [kPa].

    Returns
    -------
    float or array
        Psychrometric constant [kPa/°C].

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, eq. 8, p. 32.
    """
    constant: Values = 0.665e-3 * pressure_kpa
    return constant


def saturation_kpa(temperature_c: Values) -> Values:
    """Return the vapour pressure of saturated air.

    Parameters
    ----------
    temperature_c
        Temperature; at the dew point this is the actual vapour pressure [°C].

    Returns
    -------
    float or array
        Saturation vapour pressure, e° [kPa].

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, eq. 11, p. 36, and 14, p. 37.
    """
    saturation: Values = 0.6108 * np.exp(17.27 * temperature_c / (temperature_c + 237.3))
    return saturation


def mean_saturation_kpa(tmin_c: Values, tmax_c: Values) -> Values:
    """Return the mean saturation vapour pressure of a day.

    Parameters
    ----------
    tmin_c, tmax_c
        Least and greatest air temperature [°C].

    Returns
    -------
    float or array
        Mean of the saturation vapour pressure at both, es [kPa].

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, eq. 12, p. 36.
    """
    mean: Values = 0.5 * (saturation_kpa(tmin_c) + saturation_kpa(tmax_c))
    return mean


def saturation_slope_kpa_c(temperature_c: Values) -> Values:
    """Return how fast saturation vapour pressure rises with temperature.

    Parameters
    ----------
    temperature_c
        Mean air temperature [°C].

    Returns
    -------
    float or array
        Slope of the saturation vapour pressure curve, Δ [kPa/°C].

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, eq. 13, p. 37.
    """
    slope: Values = 4098.0 * saturation_kpa(temperature_c) / (temperature_c + 237.3) ** 2
    return slope


def vapour_by_wet_bulb_kpa(
    wet_c: Values,
    dry_c: Values | float,
    *,
    pressure_kpa: Values | float,
    coefficient_per_c: float = VENTILATED_PER_C,
) -> Values:
    """Return the actual vapour pressure from a wet and a dry thermometer.

    Parameters
    ----------
    wet_c, dry_c
        Temperature of the wet and of the dry bulb [°C].
    pressure_kpa
        Atmospheric pressure [kPa].
    coefficient_per_c
        0.000662 where the bulb is blown at 5 m/s, 0.0008 in natural wind, 0.0012 indoors [1/°C].

    Returns
    -------
    float or array
        Actual vapour pressure, ea [kPa].

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, eq. 15 and 16, p. 37 to 38.
    """
    vapour: Values = saturation_kpa(wet_c) - coefficient_per_c * pressure_kpa * (dry_c - wet_c)
    return vapour


def vapour_by_humidity_kpa(
    tmin_c: Values,
    tmax_c: Values,
    *,
    most_pct: Values | float,
    least_pct: Values | float | None = None,
) -> Values:
    """Return the actual vapour pressure of a day from its extremes of relative humidity.

    Parameters
    ----------
    tmin_c, tmax_c
        Least and greatest air temperature [°C].
    most_pct
        Greatest relative humidity, reached in the cool of the day [%].
    least_pct
        Least relative humidity; None where it is not trusted [%].

    Returns
    -------
    float or array
        Actual vapour pressure, ea [kPa].

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, eq. 17 and 18, p. 38 to 39.
    """
    cool: Values = saturation_kpa(tmin_c) * most_pct / 100.0
    if least_pct is None:
        return cool
    vapour: Values = 0.5 * (cool + saturation_kpa(tmax_c) * least_pct / 100.0)
    return vapour


def vapour_by_mean_humidity_kpa(tmin_c: Values, tmax_c: Values, mean_pct: Values | float) -> Values:
    """Return the actual vapour pressure from a mean relative humidity.

    Parameters
    ----------
    tmin_c, tmax_c
        Least and greatest air temperature; the mean temperature twice for an hour [°C].
    mean_pct
        Mean relative humidity [%].

    Returns
    -------
    float or array
        Actual vapour pressure, ea [kPa].

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, eq. 19, p. 39, and 54, p. 74.
    """
    vapour: Values = mean_saturation_kpa(tmin_c, tmax_c) * mean_pct / 100.0
    return vapour


def wind_at_2_m_m_s(wind_m_s: Values, height_m: float) -> Values:
    """Return the wind at 2 m from that at another height above short grass.

    Parameters
    ----------
    wind_m_s
        Measured wind [m/s].
    height_m
        Height of the measurement [m].

    Returns
    -------
    float or array
        Wind at 2 m, u2 [m/s].

    Raises
    ------
    ValueError
        If the height is under 0.1 m, where the profile ends.

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, eq. 47, p. 56.
    """
    if not height_m >= LEAST_WIND_HEIGHT_M:
        raise ValueError(f"wind must be measured at 0.1 m or higher, not at {height_m} m")
    wind: Values = wind_m_s * (4.87 / np.log(67.8 * height_m - 5.42))
    return wind
