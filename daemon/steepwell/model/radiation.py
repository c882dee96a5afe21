"""What of the sunshine a meadow keeps: short waves in, long waves out, heat into the soil."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from steepwell.model.values import Values

ALBEDO = 0.23
OVERCAST_SHARE = 0.25
SUNSHINE_SHARE = 0.50
STEFAN_BOLTZMANN_MJ_K4_M2_D = 4.903e-9
# As the source has it, to agree with its tables.
ZERO_C_K = 273.16


def solar_by_sunshine_mj(
    top_mj: Values, sunshine_h: Values | float, daylight_h: Values | float
) -> Values:
    """Return the sunshine on the ground from its hours.

    Parameters
    ----------
    top_mj
        Extraterrestrial radiation, Ra [MJ/m2].
    sunshine_h
        Hours of bright sunshine, n [h].
    daylight_h
        Hours for which the sun is up, N, above 0 [h].

    Returns
    -------
    float or array
        Solar radiation, Rs [MJ/m2].

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, eq. 35, p. 50.
    """
    solar: Values = (OVERCAST_SHARE + SUNSHINE_SHARE * sunshine_h / daylight_h) * top_mj
    return solar


def clear_sky_mj(top_mj: Values, elevation_m: Values | float) -> Values:
    """Return the sunshine on the ground under a clear sky.

    Parameters
    ----------
    top_mj
        Extraterrestrial radiation, Ra [MJ/m2].
    elevation_m
        Height above sea level [m].

    Returns
    -------
    float or array
        Clear-sky radiation, Rso [MJ/m2].

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, eq. 37, p. 51.
    """
    clear: Values = (0.75 + 2e-5 * elevation_m) * top_mj
    return clear


def net_short_wave_mj(solar_mj: Values) -> Values:
    """Return the sunshine that grass does not throw back.

    Parameters
    ----------
    solar_mj
        Solar radiation, Rs [MJ/m2].

    Returns
    -------
    float or array
        Net short-wave radiation, Rns [MJ/m2].

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, eq. 38, p. 51.
    """
    net: Values = (1.0 - ALBEDO) * solar_mj
    return net


def net_long_wave_mj(
    tmin_c: Values,
    tmax_c: Values | float,
    *,
    vapour_kpa: Values | float,
    clearness: Values | float,
    hours: float = 24.0,
) -> Values:
    """Return the heat that the ground loses to the sky.

    Parameters
    ----------
    tmin_c, tmax_c
        Least and greatest air temperature; the mean temperature twice for an hour [°C].
    vapour_kpa
        Actual vapour pressure, ea [kPa].
    clearness
        Rs over Rso, more than 1 counting as 1; by night that of two to three hours before
        sunset [-].
    hours
        Length of the time looked at, 24 or 1 [h].

    Returns
    -------
    float or array
        Net outgoing long-wave radiation, Rnl [MJ/m2].

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, eq. 39, p. 52; by the hour, p. 74
    to 75.
    """
    emitted = 0.5 * ((tmin_c + ZERO_C_K) ** 4 + (tmax_c + ZERO_C_K) ** 4)
    humid = 0.34 - 0.14 * np.sqrt(vapour_kpa)
    cloudy = 1.35 * np.minimum(clearness, 1.0) - 0.35
    net: Values = STEFAN_BOLTZMANN_MJ_K4_M2_D * (hours / 24.0) * emitted * humid * cloudy
    return net


def soil_heat_monthly_mj(
    before_c: Values, month_c: Values | float, after_c: Values | float | None = None
) -> Values:
    """Return the heat that goes into the soil on a mean day of a month.

    Parameters
    ----------
    before_c
        Mean air temperature of the month before [°C].
    month_c
        Mean air temperature of the month; not used where the next is known [°C].
    after_c
        Mean air temperature of the month after; None where it is not known [°C].

    Returns
    -------
    float or array
        Soil heat flux G, positive while the soil warms [MJ/m2 per day].

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, eq. 43 and 44, p. 54; over a single
    day it is nothing, eq. 42.
    """
    flux: Values = 0.14 * (month_c - before_c) if after_c is None else 0.07 * (after_c - before_c)
    return flux


def soil_heat_hourly_mj(net_radiation_mj: Values) -> Values:
    """Return the heat that goes into the soil under grass in an hour.

    Parameters
    ----------
    net_radiation_mj
        Net radiation Rn of the hour, negative by night [MJ/m2].

    Returns
    -------
    float or array
        Soil heat flux G: a tenth of Rn by day, half of it by night [MJ/m2].

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, eq. 45 and 46, p. 55; night is when
    Rn is negative.
    """
    flux: Values = np.maximum(0.1 * net_radiation_mj, 0.0) + np.minimum(0.5 * net_radiation_mj, 0.0)
    return flux
