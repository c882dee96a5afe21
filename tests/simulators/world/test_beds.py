from __future__ import annotations

from datetime import date, timedelta

import pytest

from steepwell.garden.growing import Bed
from steepwell_sim.world.beds import Thirst, TrueBed

MAY = date(2031, 5, 1)


def bed(**more: object) -> TrueBed:
    declared = {
        "name": "bed",
        "area": "2 m2",
        "crops": [{"crop": "bean", "planted": "05-01", "cleared": "08-01"}],
        **more,
    }
    return TrueBed(
        Bed.model_validate(declared),
        soil_factor=1.0,
        crop_factor=1.0,
        first_year=2031,
        last_year=2031,
    )


def live(one: TrueBed, days: int, *, rain_mm: float = 0.0, et0_mm: float = 5.0) -> None:
    for day in range(days):
        one.begin_day(MAY + timedelta(days=day))
        one.pass_hour(rain_mm, 0.0)
        for _ in range(12):
            one.pass_hour(0.0, et0_mm / 12)


@pytest.mark.parametrize(
    ("ky", "loss"),
    # FAO-56, eq. 90, p. 176, and Table 24, p. 181: a fifth less water costs maize a quarter.
    [(1.25, 0.25), (0.95, 0.19)],
)
def test_loss_by_thirst(ky: float, loss: float) -> None:
    assert Thirst(ky=ky, used_mm=80.0, wanted_mm=100.0).loss == pytest.approx(loss)


def test_a_bed_without_a_crop_has_no_loss_and_no_demand() -> None:
    bare = bed(crops=[])
    live(bare, 40)
    assert not bare.growing
    assert bare.loss == 0
    assert bare.loss_of_all == 0
    assert bare.lost_to_air_mm > 5  # its surface dries all the same


def test_a_watered_bed_loses_nothing_and_a_thirsty_one_much() -> None:
    watered, thirsty = bed(), bed()
    for day in range(80):
        watered.water(2 * watered.soil.depletion_mm)
        for one in (watered, thirsty):
            one.begin_day(MAY + timedelta(days=day))
            for _ in range(12):
                one.pass_hour(0.0, 0.5)
    assert watered.loss < 0.01
    assert thirsty.loss > 0.3


def test_the_loss_of_a_crop_is_kept_until_the_next_is_planted() -> None:
    twice = bed(
        crops=[
            {"crop": "radish", "planted": "05-01", "cleared": "06-10"},
            {"crop": "bean", "planted": "06-20", "cleared": "09-01"},
        ]
    )
    live(twice, 40)
    standing = twice.loss
    assert standing > 0
    twice.begin_day(date(2031, 6, 12))
    assert not twice.growing
    assert twice.loss == pytest.approx(standing)
    twice.begin_day(date(2031, 6, 20))
    assert twice.loss == 0
    assert 0 < twice.loss_of_all <= standing
    twice.forget_cleared()
    assert twice.loss_of_all == 0


def test_rain_does_not_reach_a_pot() -> None:
    outdoors, pot = bed(), bed(kind="pot")
    live(outdoors, 10, rain_mm=6.0)
    live(pot, 10, rain_mm=6.0)
    assert outdoors.soil.depletion_mm < 6
    assert pot.soil.depletion_mm > 10


def test_a_mulch_halves_evaporation_at_most() -> None:
    # FAO-56, ch. 10, p. 196: 5 % less for each 10 % covered.
    bare, covered = bed(crops=[]), bed(crops=[], mulch={"cover": 1.0})
    bare.pass_hour(0.0, 0.1)
    covered.pass_hour(0.0, 0.1)
    assert covered.lost_to_air_mm == pytest.approx(bare.lost_to_air_mm / 2)


def test_crops_planted_and_cleared_by_hand() -> None:
    one = bed(crops=[])
    one.plant("leek", MAY)
    live(one, 3)
    assert one.growing
    one.clear(MAY + timedelta(days=3))
    one.begin_day(MAY + timedelta(days=4))
    assert not one.growing


def test_water_is_neither_made_nor_lost() -> None:
    one = bed()
    before_mm = one.soil.water_mm
    live(one, 90, rain_mm=2.0)
    one.water(10.0)
    came_mm = 90 * 2.0 + 10.0 / 2
    after_mm = one.soil.water_mm + one.drained_mm + one.lost_to_air_mm
    assert before_mm + came_mm == pytest.approx(after_mm)
