"""Makes the hours of a day out of its daily values."""

from __future__ import annotations

import math
import random
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING

from steepwell_sim.weather.sun import (
    SunDay,
    hours_after_midnight_utc,
    radiation_at_ground,
    sun_day,
)

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from steepwell.garden.site import Site
    from steepwell_sim.weather.record import Day, Record

_EARLIEST_DAWN, _LATEST_DAWN = 3, 9
_EARLIEST_WARMEST, _LATEST_WARMEST = 13, 17
_WARMEST_AFTER_NOON_H = 3


@dataclass(frozen=True, slots=True)
class Hour:
    """One hour of weather.

    Attributes
    ----------
    start, end
        Aware, UTC.
    rain_mm, et0_mm
        Of this hour [mm].
    sun_mj_m2
        Solar radiation at the ground in this hour [MJ/m²].
    mean_air_c, end_air_c
        Air temperature through the hour and at its end [°C].
    """

    start: datetime
    end: datetime
    rain_mm: float
    et0_mm: float
    sun_mj_m2: float
    mean_air_c: float
    end_air_c: float


def local_midnight(day: date, zone: ZoneInfo) -> datetime:
    """Return the moment in UTC at which a date begins."""
    return datetime(day.year, day.month, day.day, tzinfo=zone).astimezone(UTC)


def hours_of_day(record: Record, day: date, site: Site, seed: int) -> list[Hour]:
    """Return the 23, 24 or 25 hours of a local day.

    Parameters
    ----------
    record
        Daily weather; holds ``day``. Its neighbours make the nights smooth where they are there.
    day
        The local date.
    site
        The place and its time zone.
    seed
        Decides on the hours in which it rains.

    Returns
    -------
    list of Hour
        Their rain, radiation and evapotranspiration sum to the day's; the air temperature at the
        full hours of the day has the day's least and greatest value.
    """
    midnight = local_midnight(day, site.zone)
    following = local_midnight(day + timedelta(days=1), site.zone)
    count = round((following - midnight).total_seconds() / 3600)
    sun = sun_day(day, site.latitude, site.longitude)
    today = record[day]
    rain = spread_rain(today.rain_mm, count, random.Random(f"{seed} rain {day}"))  # noqa: S311
    air = _air_of_day(record, day, site, count)
    light = _shares_of_light(sun, midnight, day, count)
    radiation = radiation_at_ground(
        sun.top_of_air_mj_m2, today.tmax_c - today.tmin_c, today.rain_mm
    )
    et0 = today.et0_mm if today.et0_mm is not None else turc_mm(today, radiation)
    return [
        Hour(
            start=midnight + timedelta(hours=index),
            end=midnight + timedelta(hours=index + 1),
            rain_mm=rain[index],
            et0_mm=et0 * light[index],
            sun_mj_m2=radiation * light[index],
            mean_air_c=(air[index] + air[index + 1]) / 2,
            end_air_c=air[index + 1],
        )
        for index in range(count)
    ]


def turc_mm(day: Day, radiation_mj_m2: float) -> float:
    """Return reference evapotranspiration by Turc's formula [mm].

    Parameters
    ----------
    day
        The day's temperatures [°C].
    radiation_mj_m2
        Solar radiation at the ground [MJ/m²].

    Returns
    -------
    float
        Evapotranspiration of a well-watered short sward [mm], for air of 50 % humidity or more.

    References
    ----------
    Turc (1961), Annales Agronomiques 12, 13-49: 0.013 T/(T + 15) (Rs + 50), Rs in cal/cm² (from
    memory); 1 MJ/m² is 23.9 cal/cm².
    """
    mean_c = (day.tmin_c + day.tmax_c) / 2
    if mean_c <= 0:
        return 0.0
    return 0.013 * mean_c / (mean_c + 15) * (23.9 * radiation_mj_m2 + 50)


def spread_rain(rain_mm: float, hours: int, rng: random.Random) -> list[float]:
    """Spread a day's rain over a few hours next to one another.

    Parameters
    ----------
    rain_mm
        Rain of the day [mm].
    hours
        Hours the day has.
    rng
        Draws the hours and their shares.

    Returns
    -------
    list of float
        Rain of each hour [mm]; sums to ``rain_mm``.
    """
    spread = [0.0] * hours
    if rain_mm <= 0:
        return spread
    length = min(hours, 1 + min(7, int(rain_mm / 1.5)) + rng.randrange(3))
    first = rng.randrange(hours - length + 1)
    shares = [rng.expovariate(1.0) + 0.05 for _ in range(length)]
    total = sum(shares)
    for offset, share in enumerate(shares):
        spread[first + offset] = rain_mm * share / total
    return spread


def _shares_of_light(sun: SunDay, midnight: datetime, day: date, count: int) -> list[float]:
    start = hours_after_midnight_utc(midnight, day)
    heights = [sun.height(start + index + 0.5) for index in range(count)]
    total = sum(heights)
    if total <= 0:
        return [1 / count] * count
    return [height / total for height in heights]


def _air_of_day(record: Record, day: date, site: Site, count: int) -> list[float]:
    """Return the air temperature at each full hour of a day and at the next midnight."""
    before, after = day - timedelta(days=1), day + timedelta(days=1)
    yesterday, today = record.get(before, record[day]), record[day]
    tomorrow = record.get(after, today)
    dawn, warmest = _coldest_and_warmest_hour(day, site, count)
    dawn_after, _ = _coldest_and_warmest_hour(after, site, 24)
    _, warmest_before = _coldest_and_warmest_hour(before, site, 24)
    knots = (
        (warmest_before - 24, yesterday.tmax_c),
        (dawn, today.tmin_c),
        (warmest, today.tmax_c),
        (count + dawn_after, tomorrow.tmin_c),
    )
    air = [_within(_between(knots, index), today) for index in range(count)]
    return [*air, _within(_between(knots, count), tomorrow)]


def _coldest_and_warmest_hour(day: date, site: Site, count: int) -> tuple[int, int]:
    """Return the hours after local midnight of dawn and of the warmest moment."""
    start = hours_after_midnight_utc(local_midnight(day, site.zone), day)
    sun = sun_day(day, site.latitude, site.longitude)
    dawn = min(_LATEST_DAWN, max(_EARLIEST_DAWN, round(sun.rise_utc_h - start)))
    warmest = round(sun.noon_utc_h - start) + _WARMEST_AFTER_NOON_H
    return dawn, min(_LATEST_WARMEST, count - 1, max(_EARLIEST_WARMEST, warmest))


def _between(knots: tuple[tuple[int, float], ...], index: int) -> float:
    """Return the value at an hour on half cosines between the knots."""
    for (left, low), (right, high) in pairwise(knots):
        if index <= right:
            along = (1 - math.cos(math.pi * (index - left) / (right - left))) / 2
            return low + (high - low) * along
    return knots[-1][1]


def _within(air_c: float, day: Day) -> float:
    return min(day.tmax_c, max(day.tmin_c, air_c))
