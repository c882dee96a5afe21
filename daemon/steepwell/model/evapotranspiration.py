"""The sun above the air, and evapotranspiration from it and the day's extremes of temperature."""

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
    latitude = _latitude_rad(latitude_deg)
    distance, declination = _sun(day_of_year)
    sunset = _sunset_rad(latitude, declination)
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


def hourly_radiation_mj(
    latitude_deg: float,
    day_of_year: Values,
    *,
    clock_h: Values | float,
    longitude_deg: float,
    zone_deg: float,
    span_h: float = 1.0,
) -> Values:
    """Return the sunshine of an hour that would reach level ground without an atmosphere.

    Parameters
    ----------
    latitude_deg
        Latitude, north positive [deg].
    day_of_year
        Day of the year, 1 on 1 January [d].
    clock_h
        Standard clock time at the middle of the hour, 14.5 from two to three [h].
    longitude_deg
        Longitude of the place, east positive [deg].
    zone_deg
        Longitude of the middle of its time zone, 15 for each hour ahead of UTC [deg].
    span_h
        Length of the time looked at [h].

    Returns
    -------
    float or array
        Extraterrestrial radiation Ra of that time, nothing while the sun is down [MJ/m2].

    Raises
    ------
    ValueError
        If the latitude lies beyond a pole.

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, eq. 28 to 33, p. 47 to 48; only the
    part of the hour in which the sun is up counts, where the source takes the whole hour or none.
    """
    latitude = _latitude_rad(latitude_deg)
    distance, declination = _sun(day_of_year)
    sunset = _sunset_rad(latitude, declination)
    season = 2.0 * math.pi * (day_of_year - 81.0) / 364.0
    correction_h = 0.1645 * np.sin(2.0 * season) - 0.1255 * np.cos(season) - 0.025 * np.sin(season)
    solar_h = clock_h + (longitude_deg - zone_deg) / 15.0 + correction_h
    middle = math.pi / 12.0 * ((solar_h % 24.0) - 12.0)
    # Where the sun does not set, an hour across midnight is a whole hour.
    limit = sunset + math.pi * (sunset >= math.pi)
    begin = np.clip(middle - math.pi * span_h / 24.0, -limit, limit)
    end = np.clip(middle + math.pi * span_h / 24.0, -limit, limit)
    radiation: Values = (
        (12.0 * 60.0 / math.pi)
        * SOLAR_CONSTANT_MJ_M2_MIN
        * distance
        * (
            (end - begin) * math.sin(latitude) * np.sin(declination)
            + math.cos(latitude) * np.cos(declination) * (np.sin(end) - np.sin(begin))
        )
    )
    result: Values = np.maximum(radiation, 0.0)
    return result


def daylight_h(latitude_deg: float, day_of_year: Values) -> Values:
    """Return how long the sun is up.

    Parameters
    ----------
    latitude_deg
        Latitude, north positive [deg].
    day_of_year
        Day of the year, 1 on 1 January [d].

    Returns
    -------
    float or array
        Daylight hours N, 0 in the polar night and 24 in the polar day [h].

    Raises
    ------
    ValueError
        If the latitude lies beyond a pole.

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, eq. 25 and 34, p. 46 to 48.
    """
    _, declination = _sun(day_of_year)
    hours: Values = 24.0 / math.pi * _sunset_rad(_latitude_rad(latitude_deg), declination)
    return hours


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


def _latitude_rad(latitude_deg: float) -> float:
    if not -POLE_DEG <= latitude_deg <= POLE_DEG:
        raise ValueError(f"latitude must lie between -90 and 90 degrees, not {latitude_deg}")
    return math.radians(latitude_deg)


def _sun(day_of_year: Values) -> tuple[Values, Values]:
    """Return the inverse relative distance of the sun and its declination [rad]."""
    angle: Values = day_of_year * (2.0 * math.pi / 365.0)
    distance: Values = 1.0 + 0.033 * np.cos(angle)
    declination: Values = 0.409 * np.sin(angle - 1.39)
    return distance, declination


def _sunset_rad(latitude: float, declination: Values) -> Values:
    # Beyond the polar circles the sun may not set or not rise; half a day, or none, is its arc.
    sunset: Values = np.arccos(np.clip(-math.tan(latitude) * np.tan(declination), -1.0, 1.0))
    return sunset
