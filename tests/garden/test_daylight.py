from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from steepwell.garden.daylight import daylight_hours, days_lengthen, is_dark_season, sunset
from steepwell.garden.site import Site


def test_hours_of_daylight_as_published() -> None:
    # FAO-56, Example 9, p. 49: 20 degrees south, 3 September, 11.7 h.
    assert daylight_hours(-20.0, date(2030, 9, 3)) == pytest.approx(11.7, abs=0.05)


@pytest.mark.parametrize(
    ("latitude", "day", "hours"),
    [(75.0, date(2030, 6, 21), 24.0), (75.0, date(2030, 12, 21), 0.0), (0.0, date(2030, 4, 1), 12)],
)
def test_polar_days_and_nights_and_the_equator(latitude: float, day: date, hours: float) -> None:
    assert daylight_hours(latitude, day) == pytest.approx(hours, abs=0.01)


@pytest.mark.parametrize("latitude", [51.0, -38.0])
def test_the_south_has_its_seasons_the_other_way_round(latitude: float) -> None:
    north = latitude > 0
    assert days_lengthen(latitude, date(2030, 3, 1)) == north
    assert days_lengthen(latitude, date(2030, 9, 1)) != north
    assert is_dark_season(latitude, date(2030, 1, 5)) == north
    assert is_dark_season(latitude, date(2030, 7, 5)) != north


def test_there_is_no_dark_season_near_the_equator() -> None:
    assert not any(is_dark_season(5.0, date(2030, month, 21)) for month in range(1, 13))


@pytest.mark.parametrize("day", [date(2030, 11, 1), date(2031, 2, 28)])
def test_from_november_to_february_it_is_dark_in_brussels(day: date) -> None:
    assert is_dark_season(50.8, day)


def test_the_sun_sets_in_the_evening_of_the_place() -> None:
    # Almanac, from memory: Greenwich 18:13 UTC on 21 March; Wellington 17:00 NZST on 21 June.
    greenwich = Site(name="a", latitude=51.5, longitude=0.0, timezone="UTC")
    set_at = sunset(greenwich, date(2030, 3, 21))
    assert abs((set_at - datetime(2030, 3, 21, 18, 13, tzinfo=UTC)).total_seconds()) < 20 * 60
    south = Site(name="b", latitude=-41.3, longitude=174.8, timezone="Pacific/Auckland")
    set_at = sunset(south, date(2030, 6, 21))
    assert abs((set_at - datetime(2030, 6, 21, 5, 0, tzinfo=UTC)).total_seconds()) < 20 * 60
