"""How long the days are and when the sun sets; without NumPy, for the daemon goes by it too."""

from __future__ import annotations

import math
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from steepwell.garden.site import Site

DARK_SEASON_H = 11.0
WHOLE_DAY_H = 24.0


def daylight_hours(latitude_deg: float, day: date) -> float:
    """Return how long the sun is up on a day.

    Parameters
    ----------
    latitude_deg
        Latitude, north positive [deg].
    day
        The day.

    Returns
    -------
    float
        From 0 in the polar night to 24 [h].

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, eq. 24, 25 and 34, p. 46 to 48.
    """
    declination = 0.409 * math.sin(2 * math.pi / 365 * day.timetuple().tm_yday - 1.39)
    cosine = -math.tan(math.radians(latitude_deg)) * math.tan(declination)
    return 24 / math.pi * math.acos(min(max(cosine, -1.0), 1.0))


def days_lengthen(latitude_deg: float, day: date) -> bool:
    """Return whether the days grow longer.

    Parameters
    ----------
    latitude_deg
        Latitude, north positive [deg].
    day
        The day.
    """
    week = timedelta(days=7)
    before, after = (daylight_hours(latitude_deg, day + step) for step in (-week, week))
    return after > before


def is_dark_season(latitude_deg: float, day: date) -> bool:
    """Return whether little grows for want of light, as from mid-October to March at 51 degrees.

    Parameters
    ----------
    latitude_deg
        Latitude, north positive [deg].
    day
        The day.
    """
    return daylight_hours(latitude_deg, day) < DARK_SEASON_H


def sunset(site: Site, day: date) -> datetime:
    """Return when the sun sets on a local day, to a quarter of an hour.

    Parameters
    ----------
    site
        Where.
    day
        The local day.

    Returns
    -------
    datetime
        In UTC; 18 hours by the sun where it does not rise or set.
    """
    noon = datetime(day.year, day.month, day.day, 12, tzinfo=UTC)
    up_h = daylight_hours(site.latitude, day)
    half = up_h / 2 if 0.0 < up_h < WHOLE_DAY_H else WHOLE_DAY_H / 4
    return noon - timedelta(hours=site.longitude / 15) + timedelta(hours=half)
