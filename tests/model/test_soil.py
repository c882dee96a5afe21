"""The root zone: water is conserved, bounds hold, stress falls where it should."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from steepwell.model.soil import adjusted_p, raw_mm, root_zone_step, stress_coefficient, taw_mm

water = st.floats(0.0, 80.0)


@given(
    taw=st.floats(5.0, 200.0),
    p=st.floats(0.1, 0.8),
    share=st.floats(0.0, 1.0),
    rain=water,
    irrigation=water,
    etc=st.floats(0.0, 12.0),
)
def test_no_water_is_made_or_lost(  # noqa: PLR0917 - drawn by name
    taw: float, p: float, share: float, rain: float, irrigation: float, etc: float
) -> None:
    before = share * taw
    after, eta, percolation = root_zone_step(
        before,
        rain_mm=rain,
        irrigation_mm=irrigation,
        etc_mm=etc,
        taw_mm=taw,
        raw_mm=raw_mm(taw, p),
    )
    assert after == pytest.approx(before - rain - irrigation + eta + percolation, abs=1e-9)
    assert 0.0 <= after <= taw * (1.0 + 1e-12)
    assert 0.0 <= eta <= etc
    assert percolation >= 0.0


def step(depletion: float, *, rain: float = 0.0, etc: float = 4.0) -> tuple[float, float, float]:
    return root_zone_step(
        depletion, rain_mm=rain, irrigation_mm=0.0, etc_mm=etc, taw_mm=40.0, raw_mm=16.0
    )


def test_the_water_of_the_day_comes_before_its_stress() -> None:
    # By hand: 30 of 40 mm gone, 20 mm of rain leave 10, less than RAW, so ETa is all of ETc.
    assert step(30.0, rain=20.0) == pytest.approx((14.0, 4.0, 0.0))


def test_what_is_beyond_field_capacity_percolates_before_the_crop_draws() -> None:
    assert step(5.0, rain=12.0) == pytest.approx((4.0, 4.0, 7.0))  # by hand


def test_nothing_is_drawn_from_a_soil_at_its_wilting_point() -> None:
    assert step(40.0) == pytest.approx((40.0, 0.0, 0.0))


def test_a_shallow_root_zone_gives_no_more_than_it_holds() -> None:
    after, eta, _ = root_zone_step(
        2.0, rain_mm=0.0, irrigation_mm=0.0, etc_mm=9.0, taw_mm=5.0, raw_mm=4.0
    )
    assert (after, eta) == pytest.approx((5.0, 3.0))  # by hand: 3 mm were left


def test_a_depletion_beyond_the_root_zone_is_cut_off() -> None:
    assert step(55.0) == step(40.0)


def test_beds_and_members_at_once() -> None:
    taw = np.array([[40.0], [80.0]])
    depletion = np.array([[30.0, 5.0, 0.0], [30.0, 60.0, 80.0]])
    rain = np.array([20.0, 12.0, 0.0])
    together = root_zone_step(
        depletion, rain_mm=rain, irrigation_mm=0.0, etc_mm=4.0, taw_mm=taw, raw_mm=0.4 * taw
    )
    for bed, member in np.ndindex(2, 3):
        alone = root_zone_step(
            float(depletion[bed, member]),
            rain_mm=float(rain[member]),
            irrigation_mm=0.0,
            etc_mm=4.0,
            taw_mm=float(taw[bed, 0]),
            raw_mm=float(0.4 * taw[bed, 0]),
        )
        assert [float(part[bed, member]) for part in together] == pytest.approx(alone)


def test_the_arrays_given_are_left_alone() -> None:
    depletion = np.array([10.0, 30.0])
    rain = np.array([0.0, 5.0])
    root_zone_step(depletion, rain_mm=rain, irrigation_mm=0.0, etc_mm=4.0, taw_mm=40.0, raw_mm=16.0)
    assert depletion.tolist() == [10.0, 30.0]
    assert rain.tolist() == [0.0, 5.0]


@pytest.mark.parametrize(
    ("depletion", "ks"),
    [(-1.0, 1.0), (0.0, 1.0), (64.0, 1.0), (112.0, 0.5), (160.0, 0.0), (170.0, 0.0)],
)
def test_stress_runs_from_raw_to_taw(depletion: float, ks: float) -> None:
    assert stress_coefficient(depletion, 160.0, 64.0) == pytest.approx(ks)  # by hand, eq. 84


@pytest.mark.parametrize(
    ("etc", "p"),
    # FAO-56, p. 162, p = p(Table 22) + 0.04 (5 - ETc) within 0.1 and 0.8, by hand for 0.45.
    [(1.0, 0.61), (3.0, 0.53), (5.0, 0.45), (7.0, 0.37), (9.0, 0.29), (15.0, 0.1)],
)
def test_a_thirsty_day_lowers_what_is_readily_available(etc: float, p: float) -> None:
    assert adjusted_p(0.45, etc) == pytest.approx(p)


def test_the_depletion_fraction_is_bounded_above() -> None:
    assert adjusted_p(0.75, 0.0) == pytest.approx(0.8)  # FAO-56, p. 162


@pytest.mark.parametrize("wilting_point", [0.2, 0.3])
def test_a_soil_that_holds_nothing_is_refused(wilting_point: float) -> None:
    with pytest.raises(ValueError, match="field capacity"):
        taw_mm(0.5, 0.2, wilting_point)
