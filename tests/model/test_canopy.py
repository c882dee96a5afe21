"""Canopy: the limits of the climate adjustment, and cover from bare to closed."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from steepwell.model.canopy import climate_adjusted_kc, ground_cover, most_kc


@pytest.mark.parametrize(
    ("beyond", "at_limit"),
    # FAO-56, p. 123 and 127: wind 1 to 6 m/s, humidity 20 to 80 %, height up to 10 m.
    [
        ({"wind_m_s": 0.2}, {"wind_m_s": 1.0}),
        ({"wind_m_s": 9.0}, {"wind_m_s": 6.0}),
        ({"least_humidity_pct": 5.0}, {"least_humidity_pct": 20.0}),
        ({"least_humidity_pct": 95.0}, {"least_humidity_pct": 80.0}),
        ({"height_m": 14.0}, {"height_m": 10.0}),
    ],
    ids=str,
)
def test_the_limits_of_the_adjustment_are_kept(
    beyond: dict[str, float], at_limit: dict[str, float]
) -> None:
    usual = {"wind_m_s": 3.0, "least_humidity_pct": 40.0, "height_m": 0.5}
    outside = climate_adjusted_kc(1.1, **(usual | beyond))
    assert outside == climate_adjusted_kc(1.1, **(usual | at_limit))


@pytest.mark.parametrize(("kc", "height"), [(0.44, 0.5), (1.1, 0.09)])
def test_dry_crops_and_low_ones_are_not_adjusted(kc: float, height: float) -> None:
    # FAO-56, p. 124 and 127.
    adjusted = climate_adjusted_kc(kc, wind_m_s=5.0, least_humidity_pct=20.0, height_m=height)
    assert adjusted == kc


def test_the_standard_climate_changes_nothing() -> None:
    # FAO-56, p. 123: the tables hold for 2 m/s and 45 %.
    table = np.array([0.3, 0.95, 1.15])
    adjusted = climate_adjusted_kc(table, wind_m_s=2.0, least_humidity_pct=45.0, height_m=0.6)
    assert adjusted == pytest.approx(table)


@given(kcb=st.floats(0.0, 1.3), height=st.floats(0.0, 3.0))
def test_cover_lies_between_bare_and_closed(kcb: float, height: float) -> None:
    cover = ground_cover(kcb, kc_max=most_kc(kcb, height_m=height), height_m=height)
    assert 0.0 <= cover <= 0.99
    assert cover == 0.0 or kcb > 0.15


@given(height=st.floats(0.05, 3.0))
def test_cover_grows_with_the_coefficient(height: float) -> None:
    kcb = np.linspace(0.15, 1.15, 21)
    cover = ground_cover(kcb, kc_max=most_kc(kcb, height_m=height), height_m=height)
    assert np.all(np.diff(cover) >= 0.0)


@pytest.mark.parametrize("kc_max", [0.15, 0.1])
def test_a_limit_under_bare_soil_is_refused(kc_max: float) -> None:
    with pytest.raises(ValueError, match="kc_max"):
        ground_cover(0.5, kc_max=kc_max, height_m=0.4)
