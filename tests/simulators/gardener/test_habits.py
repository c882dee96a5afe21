from __future__ import annotations

from dataclasses import replace
from typing import Literal

import pytest

from steepwell_sim.gardener.habits import BedSeen, Want, half_cans, wants

BEANS = BedSeen(
    name="beans", area_m2=3.0, priority=1.0, container=False, rained_on=True, depletion_mm=12.0
)
PEPPERS = replace(BEANS, name="peppers", area_m2=1.0, container=True, rained_on=False)
TOMATOES = replace(BEANS, name="tomatoes", priority=2.0, rained_on=False, depletion_mm=9.0)
MOIST = replace(BEANS, name="moist", depletion_mm=0.5)
SATURDAY, SUNDAY = 5, 6


@pytest.mark.parametrize(
    ("habit", "weekday", "rain_mm", "expected"),
    [
        # Every bed its need: 12 mm on 3 m² are 36 L, four cans of 9 L; 1.5 L are no half can.
        ("ignores", SUNDAY, 50.0, [("beans", 36.0), ("peppers", 13.5), ("tomatoes", 27.0)]),
        # 15 L/m² once a week, the favourite first, pots as every day.
        ("weekly", SATURDAY, 3.0, [("peppers", 13.5), ("tomatoes", 45.0), ("beans", 45.0)]),
        ("weekly", SATURDAY, 10.0, [("peppers", 13.5), ("tomatoes", 45.0)]),
        ("weekly", SUNDAY, 0.0, [("peppers", 13.5)]),
    ],
)
def test_what_is_watered_in_which_order(
    habit: Literal["weekly", "ignores"],
    weekday: int,
    rain_mm: float,
    expected: list[tuple[str, float]],
) -> None:
    meant = wants(
        habit, [BEANS, PEPPERS, TOMATOES, MOIST], weekday=weekday, rain_mm=rain_mm, can_l=9.0
    )
    assert meant == [Want(bed, litres) for bed, litres in expected]


@pytest.mark.parametrize(
    ("litres", "carried_l"), [(0.0, 0.0), (2.2, 0.0), (2.3, 4.5), (9.0, 9.0), (15.0, 13.5)]
)
def test_a_can_is_carried_full_or_half(litres: float, carried_l: float) -> None:
    assert half_cans(litres, 9.0) == carried_l
