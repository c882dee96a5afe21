"""Radiation: what bounds it, and members at once."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from steepwell.model.radiation import (
    clear_sky_mj,
    net_long_wave_mj,
    soil_heat_hourly_mj,
    solar_by_sunshine_mj,
)


@given(top=st.floats(0.0, 45.0), share=st.floats(0.0, 1.0))
def test_no_more_sunshine_reaches_the_ground_than_under_a_clear_sky(
    top: float, share: float
) -> None:
    # Eq. 35 with a of 0.25 and b of 0.50 ends where eq. 37 begins, at sea level.
    solar = solar_by_sunshine_mj(top, 12.0 * share, 12.0)
    assert 0.25 * top - 1e-9 <= solar <= clear_sky_mj(top, 0.0) + 1e-9


def test_a_sky_cannot_be_more_than_clear() -> None:
    # FAO-56, p. 52: Rs/Rso is limited to 1.
    clear, more = (
        net_long_wave_mj(10.0, 20.0, vapour_kpa=1.0, clearness=share) for share in (1.0, 1.3)
    )
    assert clear == more


def test_day_and_night_at_once() -> None:
    net = np.array([2.0, 0.0, -0.4])
    assert soil_heat_hourly_mj(net) == pytest.approx([0.2, 0.0, -0.2])  # by hand, eq. 45 and 46


def test_twenty_four_equal_hours_lose_what_a_day_loses() -> None:
    hour = net_long_wave_mj(15.0, 15.0, vapour_kpa=1.2, clearness=0.7, hours=1.0)
    day = net_long_wave_mj(15.0, 15.0, vapour_kpa=1.2, clearness=0.7)
    assert 24.0 * hour == pytest.approx(day)
