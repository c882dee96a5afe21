from __future__ import annotations

from datetime import date

import pytest

from steepwell_sim.weather.sun import radiation_at_ground, sun_day


@pytest.mark.parametrize(
    ("day", "latitude", "mj_m2"),
    [
        (date(2031, 9, 3), -20.0, 32.2),  # FAO-56, Example 8, p. 47
        (date(2031, 7, 6), 50.8, 41.09),  # FAO-56, Example 18, p. 72
        (date(2031, 5, 15), -22.9, 25.1),  # FAO-56, Example 10, p. 50
    ],
)
def test_radiation_above_the_air(day: date, latitude: float, mj_m2: float) -> None:
    assert sun_day(day, latitude, 0.0).top_of_air_mj_m2 == pytest.approx(mj_m2, abs=0.05)


def test_length_of_day() -> None:
    sun = sun_day(date(2031, 9, 3), -20.0, 0.0)
    # FAO-56, Example 9, p. 49: 11.7 hours of daylight.
    assert 2 * (sun.noon_utc_h - sun.rise_utc_h) == pytest.approx(11.7, abs=0.05)


def test_noon_comes_an_hour_earlier_for_each_15_degrees_east() -> None:
    assert sun_day(date(2031, 9, 3), 50.0, 15.0).noon_utc_h == pytest.approx(11.0)


def test_no_sun_in_the_polar_night() -> None:
    sun = sun_day(date(2031, 12, 21), 75.0, 0.0)
    assert sun.top_of_air_mj_m2 == 0
    assert sun.height(12.0) == 0


def test_half_of_the_radiation_arrives_on_a_fair_day() -> None:
    # Lyon in July: Ra 40.6, range 11.8 K, Rs 22.3 by another formula (FAO-56, Example 15, p. 61).
    assert radiation_at_ground(40.6, 11.8, 0.0) == pytest.approx(22.3, rel=0.15)


def test_a_rainy_day_is_darker() -> None:
    assert radiation_at_ground(40.0, 10.0, 5.0) < radiation_at_ground(40.0, 10.0, 0.0)
