from __future__ import annotations

import json
from datetime import date, timedelta
from typing import TYPE_CHECKING

import pytest

from steepwell_sim.start import world_on
from steepwell_sim.weather.hours import hours_of_day
from steepwell_sim.world.parameters import draw_parameters
from steepwell_sim.world.world import Account, World

if TYPE_CHECKING:
    from collections.abc import Callable

    from steepwell.garden.garden import Garden
    from steepwell_sim.weather.record import Day

FIRST, LAST = date(2031, 5, 1), date(2031, 7, 31)


def season(garden: Garden, record: dict[date, Day], seed: int) -> tuple[World, Account]:
    world = world_on(garden, record, FIRST, last=LAST, seed=seed)
    total = Account()
    day = FIRST
    while day <= LAST:
        hours = hours_of_day(record, day, garden.garden, seed)
        world.begin_day(hours[0].start)
        for hour in hours:
            world.pass_hour(hour)
        taken_l = sum(litres for _, litres in world.rainwater.draw(25.0))
        world.today.given_l += taken_l
        world.beds["beans"].water(taken_l)
        total.add(world.today)
        day += timedelta(days=1)
    return world, total


def test_rain_in_is_stored_used_or_spilled(garden: Garden, dry_year: dict[date, Day]) -> None:
    before = world_on(garden, dry_year, FIRST, last=LAST, seed=1)
    before_l = sum(butt.water_l for butt in before.rainwater.butts.values())
    world, total = season(garden, dry_year, seed=1)
    after_l = sum(butt.water_l for butt in world.rainwater.butts.values())
    assert total.caught_l > 0
    assert before_l + total.caught_l == pytest.approx(after_l + total.given_l + total.spilled_l)


# What the true garden may differ by: runoff ±10 %, area ±2 %, time constant ±30 %, soil ±15 %,
# crop coefficient ±10 %.
@pytest.mark.parametrize(
    ("kind", "spread"),
    [
        ("runoff", 0.10),
        ("butt_area", 0.02),
        ("lag", 0.30),
        ("soil_water", 0.15),
        ("crop_water", 0.10),
    ],
)
def test_true_parameters_fill_their_bounds_and_keep_to_them(
    garden: Garden, kind: str, spread: float
) -> None:
    drawn = [
        factor
        for seed in range(400)
        for factor in draw_parameters(garden, seed).to_json()[kind].values()
    ]
    assert 1 - spread <= min(drawn) < 1 - 0.9 * spread
    assert 1 + 0.9 * spread < max(drawn) <= 1 + spread


def test_a_part_added_to_the_garden_changes_no_other(
    garden: Garden, garden_with: Callable[..., Garden]
) -> None:
    more = garden_with(
        vessel=[{"name": "new", "volume": "80 L"}, {"name": "leeks", "volume": "100 L"}]
    )
    assert draw_parameters(more, 1).lag["leeks"] == draw_parameters(garden, 1).lag["leeks"]


def test_equal_seeds_give_equal_gardens(garden: Garden, dry_year: dict[date, Day]) -> None:
    def told(seed: int) -> str:
        world, _ = season(garden, dry_year, seed)
        end = hours_of_day(dry_year, LAST, garden.garden, seed)[-1].end
        return json.dumps(world.truth(end))

    assert told(1) == told(1)
    assert told(1) != told(2)


def test_truth_names_every_part_and_weights_sum_to_one(
    garden: Garden, dry_year: dict[date, Day]
) -> None:
    world, _ = season(garden, dry_year, seed=1)
    truth = world.truth(hours_of_day(dry_year, LAST, garden.garden, 1)[-1].end)
    assert set(truth["butts"]) == {"north", "south"}
    assert set(truth["vessels"]) == {"leeks", "barrel"}
    assert sum(bed["weight"] for bed in truth["beds"].values()) == pytest.approx(1.0, abs=1e-5)
    # Leeks have 6 m² twice over, of 4 + 12 + 2 + 0.5.
    assert truth["beds"]["leeks"]["weight"] == pytest.approx(12 / 18.5, abs=1e-5)
    assert truth["vessels"]["leeks"]["thermal_age_d"] is None


def test_begins_with_water_in_spring_and_without_old_losses(
    garden: Garden, dry_year: dict[date, Day]
) -> None:
    world = world_on(garden, dry_year, FIRST, last=LAST, seed=1)
    assert world.rainwater.above_taps_l() > 0.8 * (177.3 + 210 - 20)
    assert world.today == Account()
    assert world.weighted_loss() == 0
    assert not world.dry


def test_dry_is_less_than_a_can_or_two_percent(garden: Garden, dry_year: dict[date, Day]) -> None:
    world = world_on(garden, dry_year, FIRST, last=LAST, seed=1)
    world.rainwater.draw(world.rainwater.above_taps_l() - 9.1)
    assert not world.dry  # 2 % of 387 L is less than the can of 9 L
    world.rainwater.draw(0.2)
    assert world.dry
