from __future__ import annotations

from datetime import date

import pytest

from steepwell.garden.growing import Growing
from steepwell.garden.tables import Crop, Feeding
from steepwell_sim.world.calendar import plantings, stage_on

# FAO-56, Example 28, p. 133: stages of 25, 25, 30 and 20 days, 0.15, 1.19 and 0.35.
EXAMPLE_28 = Crop(
    family="pea family",
    kc=(0.15, 1.19, 0.35),
    kcb=(0.15, 1.19, 0.35),
    height_m=0.4,
    stage_days=(25, 25, 30, 20),
    root_m=(0.2, 0.7),
    p=0.45,
    ky=1.15,
    feeding=Feeding(first_day=None),
    source={},
)


@pytest.mark.parametrize(("day", "kc"), [(20, 0.15), (40, 0.77), (70, 1.19), (95, 0.56)])
def test_coefficient_between_the_stages(day: int, kc: float) -> None:
    stage = stage_on(EXAMPLE_28, day)
    assert stage.kc == pytest.approx(kc, abs=0.005)
    assert stage.kcb == pytest.approx(kc, abs=0.005)


def test_a_crop_that_stands_on_stays_as_it_ended() -> None:
    assert stage_on(EXAMPLE_28, 300) == stage_on(EXAMPLE_28, 100)


def test_roots_grow_until_mid_season() -> None:
    depths_m = [stage_on(EXAMPLE_28, day).root_m for day in (0, 25, 50, 90)]
    assert depths_m == pytest.approx([0.2, 0.45, 0.7, 0.7])


@pytest.mark.parametrize(
    ("crop", "planted", "cleared", "expected"),
    [
        ("leek", "06-05", "03-10", (date(2031, 6, 5), date(2032, 3, 10))),
        ("tomato", "05-20", "10-01", (date(2031, 5, 20), date(2031, 10, 1))),
        # Green beans stand 90 days: FAO-56, Table 11, p. 104 to 106.
        ("bean", "05-10", None, (date(2031, 5, 10), date(2031, 8, 8))),
        ("bean", "02-29", "06-01", (date(2031, 2, 28), date(2031, 6, 1))),
    ],
)
def test_days_of_planting_and_clearing(
    crop: str, planted: str, cleared: str | None, expected: tuple[date, date]
) -> None:
    growing = Growing(crop=crop, planted=planted, cleared=cleared)
    (one,) = plantings([growing], 2031, 2031)
    assert (one.planted, one.cleared) == expected
