"""Futures in which nobody waters: what crops lack, and what the butts get."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import numpy as np
import pytest
from tests.gardens import crop_alone, make_garden, state_of

from steepwell.decide.ration_scenarios import READILY, Scenarios, scenarios_of
from steepwell.model.soil import root_zone_step
from steepwell.outlook.state import RoofNow
from steepwell.outlook.weather import Weather

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden

# Midnight in London in winter time: all of the day is still to come.
NOW = datetime(2031, 3, 1, tzinfo=UTC)
TAW_MM, RAW_MM, ET0_MM = 52.0, 18.2, 4.0
# Without losses 1 mm of rain is 10 L.
ROOF = {"name": "shed", "area": "10 m2", "into": "north", "runoff": 1.0, "wetting_loss": "0 mm"}


def garden_of(*kinds: str) -> Garden:
    beds = [{"name": f"{kind}-bed", "area": "2 m2", "kind": kind} for kind in kinds]
    return make_garden(roof=[ROOF], bed=beds, tap={"available": "yes"})


def ahead(
    garden: Garden,
    *,
    rain_mm: float = 0.0,
    depletion_mm: float = 0.0,
    rain_today_mm: float = 0.0,
    roofs: tuple[RoofNow, ...] = (),
    days: int = 30,
    members: int = 60,
    now: datetime = NOW,
) -> Scenarios:
    shape = (days, members)
    weather = Weather(np.full(shape, rain_mm), np.full(shape, 15.0), np.full(shape, ET0_MM))
    asked = crop_alone(days, len(garden.bed), taw_mm=TAW_MM, p=RAW_MM / TAW_MM)
    lacks = [depletion_mm] * len(garden.bed)
    state = state_of(garden, now, depletion_mm=lacks, rain_today_mm=rain_today_mm)
    state = replace(state, roofs=roofs)
    return scenarios_of(garden, state, weather, asked, [], off_top_l=5.0)


def test_whole_weeks_of_at_most_fifty_futures() -> None:
    assert ahead(garden_of("ground")).unmet_mm.shape == (50, 1, 4)
    assert ahead(garden_of("ground"), members=20).inflow_l.shape == (20, 4)
    assert ahead(garden_of("ground"), days=120, members=2).unmet_mm.shape == (2, 1, 16)


def test_where_it_rains_enough_nothing_is_lacking() -> None:
    wet = ahead(garden_of("ground"), rain_mm=5.0)
    assert (wet.unmet_mm == 0).all()
    assert np.isinf(wet.thirsty_in_d).all()
    # 5 mm a day on 10 m² are 350 L a week.
    assert wet.inflow_l == pytest.approx(np.full((50, 4), 350.0))
    # The rains of the roof have shown that it keeps a fifth.
    learned = ahead(garden_of("ground"), rain_mm=5.0, roofs=(RoofNow("shed", 0.8, 0.02),))
    assert learned.inflow_l == pytest.approx(np.full((50, 4), 280.0))


def test_what_nobody_waters_draws_what_is_in_its_soil_and_no_more() -> None:
    dry = ahead(garden_of("ground"), days=112, members=1)
    asked_mm = 112 * ET0_MM
    drawn_mm = asked_mm - dry.unmet_mm.sum()
    assert drawn_mm <= TAW_MM
    assert drawn_mm == pytest.approx(TAW_MM, abs=1.0)


def test_a_crop_is_thirsty_while_a_fifth_of_what_it_can_spare_is_left() -> None:
    # 14.6 of 18.2 mm: used up on the fourth day at 4 mm a day.
    dry = ahead(garden_of("ground"))
    assert (dry.thirsty_in_d == 3).all()
    assert dry.lacks_mm[:, 0] == pytest.approx([4.0, 8.0, 12.0, 16.0, 19.9, 23.3, 26.4], abs=0.1)


@pytest.mark.parametrize("depletion_mm", [20.0, 35.0])
def test_what_is_drawn_of_a_millimetre_within_a_week(depletion_mm: float) -> None:
    def drawn_in_a_week(depletion: float) -> float:
        drawn = 0.0
        for _ in range(7):
            depletion, eta, _ = root_zone_step(
                depletion,
                rain_mm=0.0,
                irrigation_mm=0.0,
                etc_mm=ET0_MM,
                taw_mm=TAW_MM,
                raw_mm=READILY * RAW_MM,
            )
            drawn += eta
        return drawn

    more = drawn_in_a_week(depletion_mm - 1.0) - drawn_in_a_week(depletion_mm)
    dry = ahead(garden_of("ground"), depletion_mm=depletion_mm)
    # The first day does not count, for water comes in the evening; so look at the second week.
    assert dry.drawn[:, 0, 1] == pytest.approx(np.full(50, more))


def test_of_water_that_the_sun_would_get_too_a_part_reaches_the_crop() -> None:
    # This crop draws as much as crop and wet ground can together.
    assert (ahead(garden_of("ground")).reaches == 1.0).all()


def test_room_is_what_the_soil_lacks_at_its_wettest() -> None:
    # 14 mm lack at first and 3 mm more each day: 17 mm in the evening.
    dry = ahead(garden_of("ground"), rain_mm=1.0, depletion_mm=14.0)
    assert dry.room_mm[:, 0, 0] == pytest.approx(np.full(50, 14.0 - 1.0 + 4.0))


def test_of_today_only_what_is_to_come_runs_off_and_what_fell_wets_the_beds() -> None:
    # At noon half of the day's 6 mm are still to come; 8 mm have fallen.
    noon = ahead(
        garden_of("ground"),
        rain_mm=6.0,
        depletion_mm=20.0,
        rain_today_mm=8.0,
        now=datetime(2031, 3, 1, 12, tzinfo=UTC),
    )
    assert noon.inflow_l[:, 0] == pytest.approx(np.full(50, 10.0 * 6.0 * 6.5))
    assert noon.lacks_mm[0, 0] == pytest.approx(20.0 - 8.0 - 3.0 + 4.0)


def test_beds_without_rain_come_off_the_top() -> None:
    both = ahead(garden_of("ground", "greenhouse"))
    assert both.unmet_mm.shape[1] == 1
    # 4 mm a day on 2 m² are 56 L a week; this week it is what the gardener gives.
    assert both.off_top_l == pytest.approx(np.array([[5.0, 56.0, 56.0, 56.0]] * 50))
    # Trays have water from the tap.
    assert (ahead(garden_of("ground", "tray")).off_top_l[:, 1:] == 0).all()


def test_water_in_hand_is_above_the_taps() -> None:
    butts = [{"name": "north", "litres": "200 L", "dead_volume": "20 L"}]
    garden = make_garden(roof=[ROOF], butt=butts)
    dry = ahead(garden)
    assert (dry.in_hand_l, dry.capacity_l) == (180.0, 180.0)


def test_a_litre_is_worth_what_its_bed_would_lose() -> None:
    beds = [
        {"name": "favourite", "area": "2 m2", "priority": 3.0},
        {"name": "other", "area": "4 m2"},
    ]
    worth = ahead(make_garden(bed=beds)).worth_per_l
    assert worth[0] == pytest.approx(3 * worth[1])
