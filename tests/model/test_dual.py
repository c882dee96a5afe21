"""The dual day: water is conserved, bounds hold, and a bed of beds is each bed alone."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from steepwell.model.dual import DualDay, dual_step, surface_step
from steepwell.model.soil import root_zone_step

share = st.floats(0.0, 1.0)
water = st.floats(0.0, 80.0)
SOUND = {
    "rain_mm": 0.0,
    "irrigation_mm": 0.0,
    "et0_mm": 4.0,
    "kcb": 0.6,
    "kc_max": 1.2,
    "exposed": 0.5,
    "tew_mm": 18.0,
    "rew_mm": 8.0,
    "taw_mm": 60.0,
    "raw_mm": 24.0,
}


def step(surface: float, depletion: float, **change: float) -> DualDay[float]:
    return dual_step(surface, depletion, **(SOUND | change))


@given(
    dry=share,
    depleted=share,
    rain=water,
    irrigation=water,
    et0=st.floats(0.0, 10.0),
    kcb=st.floats(0.0, 1.2),
    exposed=st.floats(0.01, 1.0),
    wetted=st.floats(0.05, 1.0),
    tew=st.floats(4.0, 30.0),
    rew_share=st.floats(0.1, 1.2),
    mulch=share,
)
def test_no_water_is_made_or_lost(  # noqa: PLR0917 - drawn by name
    dry: float,
    depleted: float,
    rain: float,
    irrigation: float,
    et0: float,
    kcb: float,
    exposed: float,
    wetted: float,
    tew: float,
    rew_share: float,
    mulch: float,
) -> None:
    before = depleted * 60.0
    day = step(
        dry * tew,
        before,
        rain_mm=rain,
        irrigation_mm=irrigation,
        et0_mm=et0,
        kcb=kcb,
        kc_max=max(1.2, kcb + 0.05),
        exposed=exposed,
        wetted=wetted,
        tew_mm=tew,
        rew_mm=rew_share * tew,
        mulch_cover=mulch,
    )
    after = before - rain - irrigation + day.eta_mm + day.percolation_mm
    assert day.depletion_mm == pytest.approx(after, abs=1e-9)
    assert 0.0 <= day.depletion_mm <= 60.0 + 1e-9
    assert 0.0 <= day.surface_mm <= tew + 1e-9
    assert 0.0 <= day.evaporation_mm <= exposed * tew + 1e-9
    assert 0.0 <= day.eta_mm <= max(1.2, kcb + 0.05) * et0 + 1e-9
    assert day.percolation_mm >= 0.0
    start = max(dry * tew - rain - irrigation / wetted, 0.0)
    assert day.surface_mm == pytest.approx(start + day.evaporation_mm / exposed, abs=1e-9)


@given(depleted=share, rain=water, irrigation=water, kc=st.floats(0.0, 1.15))
def test_with_a_dry_surface_it_is_the_single_balance(
    depleted: float, rain: float, irrigation: float, kc: float
) -> None:
    # Without energy left for it, Kc max = Kcb, the soil evaporates nothing.
    day = step(0.0, 60.0 * depleted, rain_mm=rain, irrigation_mm=irrigation, kcb=kc, kc_max=kc)
    single = root_zone_step(
        60.0 * depleted,
        rain_mm=rain,
        irrigation_mm=irrigation,
        etc_mm=4.0 * kc,
        taw_mm=60.0,
        raw_mm=24.0,
    )
    assert (day.depletion_mm, day.eta_mm, day.percolation_mm) == pytest.approx(single, abs=1e-9)


def test_wet_soil_evaporates_what_energy_allows() -> None:
    # By hand: Ke = min(1.2 - 0.6, 0.5 x 1.2) = 0.6, so 2.4 mm, 4.8 mm from the open half.
    day = step(0.0, 0.0)
    assert day.evaporation_mm == pytest.approx(2.4)
    assert day.surface_mm == pytest.approx(4.8)
    assert day.eta_mm == pytest.approx(2.4 + 2.4)


def test_a_dried_out_surface_evaporates_nothing() -> None:
    assert step(18.0, 20.0).evaporation_mm == 0.0


def test_water_on_part_of_the_ground_wets_that_part_more() -> None:
    # By hand: 4 mm over the bed are 8 mm on its watered half; 18 - 8 = 10, Kr 0.8, Ke 0.48.
    day = step(18.0, 30.0, irrigation_mm=4.0, wetted=0.5)
    assert day.evaporation_mm == pytest.approx(0.48 * 4.0)
    assert day.surface_mm == pytest.approx(10.0 + 2.0 * 0.48 * 4.0)


def test_stress_lowers_what_the_crop_draws_and_not_evaporation() -> None:
    # By hand: 42 of 60 mm gone, Ks = 18 / 36; surface wet by 18 mm would be no longer stressed.
    calm, stressed = step(0.0, 0.0), step(0.0, 42.0)
    assert stressed.evaporation_mm == calm.evaporation_mm
    assert stressed.eta_mm - stressed.evaporation_mm == pytest.approx(0.5 * 2.4)


def test_a_thin_layer_loses_no_more_than_it_held() -> None:
    # Eq. 71 would take 1.2 x 8 mm of the 3 mm that are left.
    surface, evaporation = surface_step(
        2.0,
        water_mm=0.0,
        et0_mm=8.0,
        kcb=0.0,
        kc_max=1.2,
        exposed=1.0,
        tew_mm=5.0,
        rew_mm=5.0,
    )
    assert (surface, evaporation) == pytest.approx((5.0, 3.0))


def test_depletions_beyond_a_layer_are_cut_off() -> None:
    assert step(25.0, 70.0) == step(18.0, 60.0)


def test_beds_and_members_at_once() -> None:
    column = {
        "kcb": np.array([[0.15], [1.1]]),
        "exposed": np.array([[0.9], [0.2]]),
        "tew_mm": np.array([[18.0], [22.0]]),
        "rew_mm": np.array([[8.0], [9.0]]),
        "taw_mm": np.array([[40.0], [80.0]]),
        "raw_mm": np.array([[16.0], [36.0]]),
        "irrigation_mm": np.array([[6.0], [0.0]]),
        "wetted": np.array([[0.5], [1.0]]),
        "mulch_cover": np.array([[0.0], [0.8]]),
    }
    rain, et0 = np.array([0.0, 2.0, 30.0]), np.array([6.0, 3.0, 1.0])
    surface = np.array([[0.0, 9.0, 18.0], [22.0, 15.0, 3.0]])
    depletion = np.array([[0.0, 20.0, 40.0], [80.0, 50.0, 10.0]])
    arrays: dict[str, Any] = {"rain_mm": rain, "et0_mm": et0, "kc_max": 1.2, **column}
    together = dual_step(surface, depletion, **arrays)
    for bed, member in np.ndindex(2, 3):
        alone = step(
            float(surface[bed, member]),
            float(depletion[bed, member]),
            rain_mm=float(rain[member]),
            et0_mm=float(et0[member]),
            **{name: float(values[bed, 0]) for name, values in column.items()},
        )
        assert [float(part[bed, member]) for part in together] == pytest.approx(alone)


def test_the_arrays_given_are_left_alone() -> None:
    surface, depletion, rain = np.array([4.0, 9.0]), np.array([10.0, 30.0]), np.array([0.0, 5.0])
    dual_step(surface, depletion, **(SOUND | {"rain_mm": rain}))
    assert (surface.tolist(), depletion.tolist()) == ([4.0, 9.0], [10.0, 30.0])
    assert rain.tolist() == [0.0, 5.0]
