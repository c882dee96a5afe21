"""Evapotranspiration: bounded at the poles and on strange days."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from steepwell.model.evapotranspiration import (
    daylight_h,
    extraterrestrial_radiation_mj,
    hargreaves_mm,
    hourly_radiation_mj,
)

DAYS = np.arange(1.0, 367.0)


@given(latitude=st.floats(-90.0, 90.0))
def test_radiation_is_a_number_everywhere_on_earth(latitude: float) -> None:
    radiation = extraterrestrial_radiation_mj(latitude, DAYS)
    assert np.all(np.isfinite(radiation))
    assert np.all(radiation >= 0.0)


@pytest.mark.parametrize(("latitude", "day"), [(75.0, 355.0), (90.0, 1.0), (-80.0, 172.0)])
def test_the_polar_night_is_dark(latitude: float, day: float) -> None:
    assert extraterrestrial_radiation_mj(latitude, day) == pytest.approx(0.0)


def test_the_polar_day_lasts_all_day() -> None:
    # Eq. 21 with a sunset angle of pi at the pole leaves 1440 Gsc dr sin(d), by hand for 21 June.
    declination = 0.409 * np.sin(2.0 * np.pi * 172 / 365 - 1.39)
    distance = 1.0 + 0.033 * np.cos(2.0 * np.pi * 172 / 365)
    assert extraterrestrial_radiation_mj(90.0, 172.0) == pytest.approx(
        1440.0 * 0.0820 * distance * np.sin(declination)
    )


@pytest.mark.parametrize("latitude", [-90.1, 91.0, float("nan")])
def test_a_latitude_beyond_the_poles_is_refused(latitude: float) -> None:
    with pytest.raises(ValueError, match="latitude"):
        extraterrestrial_radiation_mj(latitude, 100.0)
    with pytest.raises(ValueError, match="latitude"):
        daylight_h(latitude, 100.0)


@given(
    latitude=st.floats(-90.0, 90.0),
    day=st.floats(1.0, 366.0),
    longitude=st.floats(-180.0, 180.0),
    zone=st.sampled_from([-180.0, -75.0, 0.0, 15.0]),
)
def test_the_hours_of_a_day_make_up_the_day(
    latitude: float, day: float, longitude: float, zone: float
) -> None:
    # Eq. 28 over all of the day is eq. 21, which holds the declination still for the day, too.
    hours = hourly_radiation_mj(
        latitude,
        np.full(24, day),
        clock_h=np.arange(24.0) + 0.5,
        longitude_deg=longitude,
        zone_deg=zone,
    )
    whole = extraterrestrial_radiation_mj(latitude, day)
    assert hours.sum() == pytest.approx(whole, abs=1e-9)
    assert np.count_nonzero(hours) <= daylight_h(latitude, day) + 2.0


@pytest.mark.parametrize(("latitude", "day", "hours"), [(75.0, 355, 0.0), (75.0, 172, 24.0)])
def test_daylight_beyond_the_polar_circle(latitude: float, day: float, hours: float) -> None:
    assert daylight_h(latitude, day) == pytest.approx(hours)


@pytest.mark.parametrize(("tmin", "tmax"), [(15.0, 15.0), (15.0, 14.0), (-40.0, -20.0)], ids=str)
def test_a_day_without_warmth_or_range_asks_for_nothing(tmin: float, tmax: float) -> None:
    assert hargreaves_mm(tmin, tmax, 30.0) == pytest.approx(0.0)
