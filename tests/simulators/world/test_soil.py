from __future__ import annotations

import random

import pytest

from steepwell_sim.world.soil import Soil, Texture

# Loam: FAO-56, Table 19, p. 144, middle of its ranges.
LOAM = Texture(field_capacity=0.25, wilting_point=0.12)


def soil(rooted_m: float = 0.5) -> Soil:
    return Soil(LOAM, top_m=0.1, floor_m=0.8, rooted_m=rooted_m)


def test_begins_at_field_capacity() -> None:
    assert soil().water_mm == pytest.approx(0.25 * 800)
    assert soil().depletion_mm == pytest.approx(0.0)


def test_water_fills_from_the_top_and_the_rest_drains() -> None:
    ground = soil()
    ground.top_mm -= 10
    ground.below_mm -= 20
    ground.unrooted_mm -= 5
    assert ground.wet(12.0) == 0
    assert ground.depletion_mm == pytest.approx(18)
    assert ground.wet(30.0) == pytest.approx(30 - 18 - 5)
    assert ground.depletion_mm == pytest.approx(0)


def test_moving_roots_moves_no_water() -> None:
    ground = soil(0.3)
    ground.below_mm -= 15
    before = ground.water_mm
    for depth_m in (0.4, 0.8, 0.2, 0.1, 0.6):
        ground.root_to(depth_m)
        assert ground.water_mm == pytest.approx(before)
        assert ground.rooted_m == depth_m


def test_a_wet_surface_evaporates_what_is_asked_and_a_dry_one_hardly() -> None:
    ground = soil()
    assert ground.evaporate(1.0) == pytest.approx(1.0)
    for _ in range(300):
        ground.evaporate(5.0)
    assert ground.top_mm >= 1000 * 0.06 * 0.1  # half of wilting point is left: FAO-56, eq. 73
    assert ground.evaporate(5.0) < 0.2


def test_a_crop_takes_what_it_wants_from_moist_soil_and_nothing_at_wilting_point() -> None:
    ground = soil()
    assert ground.transpire(3.0, 0.4) == pytest.approx(3.0)
    for _ in range(2000):
        ground.transpire(3.0, 0.4)
    wilting_mm = 1000 * 0.12 * 0.5
    assert ground.top_mm + ground.below_mm == pytest.approx(wilting_mm, abs=0.5)
    assert ground.transpire(3.0, 0.4) < 0.05


def test_roots_below_make_up_for_a_dry_top() -> None:
    ground = soil()
    ground.top_mm = 1000 * 0.12 * 0.1
    assert ground.transpire(2.0, 0.4) > 0.9 * 2.0


def test_water_is_neither_made_nor_lost() -> None:
    ground = soil(0.2)
    rng = random.Random(3)  # noqa: S311 - a simulation
    before_mm, came_mm, went_mm = ground.water_mm, 0.0, 0.0
    for step in range(3000):
        rain_mm = max(0.0, rng.gauss(-2.0, 2.0))
        came_mm += rain_mm
        went_mm += ground.wet(rain_mm)
        went_mm += ground.evaporate(rng.uniform(0, 0.3))
        went_mm += ground.transpire(rng.uniform(0, 0.3), 0.4)
        ground.root_to(0.2 + 0.6 * (step % 1000) / 1000)
    assert before_mm + came_mm == pytest.approx(ground.water_mm + went_mm)
