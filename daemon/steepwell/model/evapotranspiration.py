"""Reference evapotranspiration from the day's extremes of temperature and the time of year."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from steepwell.model.values import Values

SOLAR_CONSTANT_MJ_M2_MIN = 0.0820
MM_A_MJ_M2 = 0.408
POLE_DEG = 90.0


def extraterrestrial_radiation_mj(latitude_deg: float, day_of_year: Values) -> Values:
    """Return the sunshine that would reach level ground without an atmosphere.

    Parameters
    ----------
    latitude_deg
        Latitude, north positive [deg].
    day_of_year
        Day of the year, 1 on 1 January [d].

    Returns
    -------
    float or array
        Extraterrestrial radiation Ra of the day, nothing in the polar night [MJ/m2].

    Raises
    ------
    ValueError
        If the latitude lies beyond a pole.

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, eq. 21, 23, 24 and 25, p. 46.
    """
    if not -POLE_DEG <= latitude_deg <= POLE_DEG:
        raise ValueError(f"latitude must lie between -90 and 90 degrees, not {latitude_deg}")
    latitude = math.radians(latitude_deg)
    angle: Values = day_of_year * (2.0 * math.pi / 365.0)
    distance = 1.0 + 0.033 * np.cos(angle)
    declination = 0.409 * np.sin(angle - 1.39)
    # Beyond the polar circles the sun may not set or not rise; half a day, or none, is its arc.
    sunset = np.arccos(np.clip(-math.tan(latitude) * np.tan(declination), -1.0, 1.0))
    radiation: Values = (
        (24.0 * 60.0 / math.pi)
        * SOLAR_CONSTANT_MJ_M2_MIN
        * distance
        * (
            sunset * math.sin(latitude) * np.sin(declination)
            + math.cos(latitude) * np.cos(declination) * np.sin(sunset)
        )
    )
    result: Values = np.maximum(radiation, 0.0)
    return result


def hargreaves_mm(tmin_c: Values, tmax_c: Values | float, radiation_mj: Values | float) -> Values:
    """Return the reference evapotranspiration of a day by the Hargreaves equation.

    Parameters
    ----------
    tmin_c, tmax_c
        Least and greatest air temperature of the day [°C].
    radiation_mj
        Extraterrestrial radiation of the day [MJ/m2].

    Returns
    -------
    float or array
        Reference evapotranspiration ET0, never negative [mm].

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, eq. 52, p. 64.
    """
    spread = np.sqrt(np.maximum(tmax_c - tmin_c, 0.0))
    warmth = np.maximum((tmin_c + tmax_c) / 2.0 + 17.8, 0.0)
    et0: Values = 0.0023 * MM_A_MJ_M2 * radiation_mj * warmth * spread
    return et0
