"""Reference evapotranspiration by the Penman-Monteith equation, for those who have its data."""

from __future__ import annotations

from typing import TYPE_CHECKING

from steepwell.model.air import saturation_slope_kpa_c

if TYPE_CHECKING:
    from steepwell.model.values import Values

MM_A_MJ_M2 = 0.408
DAILY_WIND_FACTOR = 900.0
HOURLY_WIND_FACTOR = 37.0


def penman_monteith_daily_mm(
    temperature_c: Values,
    *,
    net_radiation_mj: Values | float,
    soil_heat_mj: Values | float,
    wind_m_s: Values | float,
    vapour_deficit_kpa: Values | float,
    psychrometric_kpa_c: Values | float,
) -> Values:
    """Return the reference evapotranspiration of a day, or of a mean day of a month.

    Parameters
    ----------
    temperature_c
        Mean of the least and the greatest air temperature [°C].
    net_radiation_mj
        Net radiation at the surface, Rn [MJ/m2].
    soil_heat_mj
        Heat into the soil, G; 0 for a single day [MJ/m2].
    wind_m_s
        Wind at 2 m [m/s].
    vapour_deficit_kpa
        Mean saturation vapour pressure less the actual one, es - ea [kPa].
    psychrometric_kpa_c
        Psychrometric constant [kPa/°C].

    Returns
    -------
    float or array
        Reference evapotranspiration ET0 [mm].

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, eq. 6, p. 24.
    """
    return _penman_monteith_mm(
        temperature_c,
        wind_factor=DAILY_WIND_FACTOR,
        energy_mj=net_radiation_mj - soil_heat_mj,
        wind_m_s=wind_m_s,
        vapour_deficit_kpa=vapour_deficit_kpa,
        psychrometric_kpa_c=psychrometric_kpa_c,
    )


def penman_monteith_hourly_mm(
    temperature_c: Values,
    *,
    net_radiation_mj: Values | float,
    soil_heat_mj: Values | float,
    wind_m_s: Values | float,
    vapour_deficit_kpa: Values | float,
    psychrometric_kpa_c: Values | float,
) -> Values:
    """Return the reference evapotranspiration of an hour.

    Parameters
    ----------
    temperature_c
        Mean air temperature of the hour [°C].
    net_radiation_mj
        Net radiation at the surface, Rn [MJ/m2].
    soil_heat_mj
        Heat into the soil, G [MJ/m2].
    wind_m_s
        Wind at 2 m [m/s].
    vapour_deficit_kpa
        Saturation vapour pressure at that temperature less the actual one [kPa].
    psychrometric_kpa_c
        Psychrometric constant [kPa/°C].

    Returns
    -------
    float or array
        Reference evapotranspiration ET0 [mm].

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, eq. 53, p. 74.
    """
    return _penman_monteith_mm(
        temperature_c,
        wind_factor=HOURLY_WIND_FACTOR,
        energy_mj=net_radiation_mj - soil_heat_mj,
        wind_m_s=wind_m_s,
        vapour_deficit_kpa=vapour_deficit_kpa,
        psychrometric_kpa_c=psychrometric_kpa_c,
    )


def _penman_monteith_mm(
    temperature_c: Values,
    *,
    wind_factor: float,
    energy_mj: Values | float,
    wind_m_s: Values | float,
    vapour_deficit_kpa: Values | float,
    psychrometric_kpa_c: Values | float,
) -> Values:
    slope = saturation_slope_kpa_c(temperature_c)
    by_sun = MM_A_MJ_M2 * slope * energy_mj
    by_wind = (
        psychrometric_kpa_c * wind_factor / (temperature_c + 273.0) * wind_m_s * vapour_deficit_kpa
    )
    et0: Values = (by_sun + by_wind) / (slope + psychrometric_kpa_c * (1.0 + 0.34 * wind_m_s))
    return et0
