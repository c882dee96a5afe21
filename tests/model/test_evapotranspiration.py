"""Evapotranspiration: bounded at the poles and on strange days."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from steepwell.model.evapotranspiration import extraterrestrial_radiation_mj, hargreaves_mm

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


@pytest.mark.parametrize(("tmin", "tmax"), [(15.0, 15.0), (15.0, 14.0), (-40.0, -20.0)], ids=str)
def test_a_day_without_warmth_or_range_asks_for_nothing(tmin: float, tmax: float) -> None:
    assert hargreaves_mm(tmin, tmax, 30.0) == pytest.approx(0.0)
