"""Air: humidity and wind behave at their edges, and for arrays."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from steepwell.model.air import (
    saturation_kpa,
    saturation_slope_kpa_c,
    vapour_by_humidity_kpa,
    vapour_by_mean_humidity_kpa,
    vapour_by_wet_bulb_kpa,
    wind_at_2_m_m_s,
)


@given(temperature=st.floats(-30.0, 45.0))
def test_the_slope_is_that_of_the_curve(temperature: float) -> None:
    step = 1e-3
    rise = saturation_kpa(temperature + step) - saturation_kpa(temperature - step)
    # 4098 is 17.27 x 237.3 rounded, so the two differ by 0.004 %.
    assert saturation_slope_kpa_c(temperature) == pytest.approx(rise / (2.0 * step), rel=1e-4)


@given(tmin=st.floats(-20.0, 30.0), spread=st.floats(0.0, 20.0))
def test_saturated_air_is_saturated_however_it_is_told(tmin: float, spread: float) -> None:
    tmax = tmin + spread
    both = vapour_by_humidity_kpa(tmin, tmax, most_pct=100.0, least_pct=100.0)
    assert both == pytest.approx(vapour_by_mean_humidity_kpa(tmin, tmax, 100.0))
    assert vapour_by_wet_bulb_kpa(tmin, tmin, pressure_kpa=100.0) == saturation_kpa(tmin)


def test_days_as_an_array() -> None:
    tmin, tmax = np.array([5.0, 12.0]), np.array([14.0, 25.0])
    together = vapour_by_humidity_kpa(tmin, tmax, most_pct=90.0, least_pct=50.0)
    alone = [
        vapour_by_humidity_kpa(float(low), float(high), most_pct=90.0, least_pct=50.0)
        for low, high in zip(tmin, tmax, strict=True)
    ]
    assert together == pytest.approx(alone)


def test_wind_at_2_m_is_itself() -> None:
    assert wind_at_2_m_m_s(3.0, 2.0) == pytest.approx(3.0, rel=1e-3)  # eq. 47, by definition


@pytest.mark.parametrize("height", [0.0, 0.05, float("nan")])
def test_wind_at_the_ground_is_refused(height: float) -> None:
    with pytest.raises(ValueError, match="wind"):
        wind_at_2_m_m_s(3.0, height)
