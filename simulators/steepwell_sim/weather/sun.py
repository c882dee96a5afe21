"""Where the sun stands, and how much of its heat reaches the ground."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import UTC, date, datetime

SOLAR_CONSTANT_MJ_M2_MIN = 0.0820
_RAINY_DAY_MM = 1.0


@dataclass(frozen=True, slots=True)
class SunDay:
    """The sun's way on one day at one place.

    Attributes
    ----------
    top_of_air_mj_m2
        Radiation outside the atmosphere [MJ/m²].
    rise_utc_h, noon_utc_h
        Sunrise and solar noon [hours UTC after midnight UTC of the date].
    latitude_rad, declination_rad
        Angles [rad].
    """

    top_of_air_mj_m2: float
    rise_utc_h: float
    noon_utc_h: float
    latitude_rad: float
    declination_rad: float

    def height(self, utc_h: float) -> float:
        """Return the sine of the sun's height, 0 below the horizon.

        Parameters
        ----------
        utc_h
            Hours UTC after midnight UTC of the date.
        """
        angle = math.pi / 12 * (utc_h - self.noon_utc_h)
        sine = math.sin(self.latitude_rad) * math.sin(self.declination_rad) + math.cos(
            self.latitude_rad
        ) * math.cos(self.declination_rad) * math.cos(angle)
        return max(0.0, sine)


def sun_day(day: date, latitude: float, longitude: float) -> SunDay:
    """Return the sun's way on a day.

    Parameters
    ----------
    day
        The date.
    latitude, longitude
        Of the place [degrees, north and east positive].

    Returns
    -------
    SunDay
        Without the equation of time, which shifts noon by a quarter of an hour at most.

    References
    ----------
    FAO-56 (Allen et al. 1998), eq. 21 to 25, p. 46 to 48.
    """
    number = day.timetuple().tm_yday
    phi = math.radians(latitude)
    distance = 1 + 0.033 * math.cos(2 * math.pi * number / 365)
    declination = 0.409 * math.sin(2 * math.pi * number / 365 - 1.39)
    sunset = math.acos(min(1.0, max(-1.0, -math.tan(phi) * math.tan(declination))))
    integral = sunset * math.sin(phi) * math.sin(declination) + math.cos(phi) * math.cos(
        declination
    ) * math.sin(sunset)
    noon = 12 - longitude / 15
    return SunDay(
        top_of_air_mj_m2=max(0.0, 1440 / math.pi * SOLAR_CONSTANT_MJ_M2_MIN * distance * integral),
        rise_utc_h=noon - sunset * 12 / math.pi,
        noon_utc_h=noon,
        latitude_rad=phi,
        declination_rad=declination,
    )


def radiation_at_ground(top_of_air_mj_m2: float, range_c: float, rain_mm: float) -> float:
    """Return the day's solar radiation at the ground from the day's temperature range [MJ/m²].

    Parameters
    ----------
    top_of_air_mj_m2
        Radiation outside the atmosphere [MJ/m²].
    range_c
        Greatest less least temperature of the day [K].
    rain_mm
        Rain of the day [mm]; a rainy day counts with three quarters of its range.

    Returns
    -------
    float
        Solar radiation [MJ/m²].

    References
    ----------
    Bristow and Campbell (1984), Agricultural and Forest Meteorology 31, 159-166, with A = 0.7,
    B = 0.005, C = 2.4 (from memory).
    """
    counted_c = range_c * (0.75 if rain_mm >= _RAINY_DAY_MM else 1.0)
    return top_of_air_mj_m2 * 0.7 * (1 - math.exp(-0.005 * max(0.0, counted_c) ** 2.4))


def hours_after_midnight_utc(moment: datetime, day: date) -> float:
    """Return a moment as hours UTC after midnight UTC of a date."""
    midnight = datetime(day.year, day.month, day.day, tzinfo=UTC)
    return (moment - midnight).total_seconds() / 3600
