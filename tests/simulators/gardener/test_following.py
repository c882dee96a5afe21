from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest

from steepwell_sim.gardener.following import feed_told, water_told
from steepwell_sim.gardener.gardener import Gardener
from steepwell_sim.gardener.habits import Want
from steepwell_sim.gardener.hands import do
from steepwell_sim.start import world_on

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden
    from steepwell_sim.weather.record import Day
    from steepwell_sim.world.world import World

EVENING = datetime(2031, 7, 5, 18, tzinfo=UTC)  # seven in the evening in London
TODAY = EVENING.date()


def line(bed: str, **more: object) -> dict[str, Any]:
    return {
        "bed": bed,
        "daily_l": None,
        "cans": 0.0,
        "litres": 0.0,
        "days": [],
        "from": None,
        "skip_after_mm": 10,
        "stop": False,
        "reason": "for a test",
        **more,
    }


def feed(bed: str, **more: object) -> dict[str, Any]:
    told = {"vessel": "barrel", "cans": 1.0, "feed_ml": 30.0, "day": TODAY.isoformat()}
    return {"bed": bed, **told, **more}


def plan(*water: dict[str, Any], feeds: tuple[dict[str, Any], ...] = ()) -> dict[str, Any]:
    return {
        "issued": "2031-07-04T06:30:00+01:00",
        "week": ["2031-07-04", "2031-07-10"],
        "water": list(water),
        "feed": list(feeds),
    }


BEANS = line("beans", cans=5.5, litres=49.5, days=["2031-07-05", "2031-07-08"], **{"from": "south"})
PEPPER = line("pepper", daily_l=2.5, litres=17.5, **{"from": "north"})
SEEDLINGS = line("seedlings", daily_l=1.0, litres=7.0)
LEFT = line("leeks", stop=True)


@pytest.mark.parametrize(
    ("day", "rain_mm", "expected"),
    [
        # Eleven half cans of 4.5 L on two evenings: six, then five.
        (5, 0.0, [Want("beans", 27.0, "south"), Want("pepper", 2.5, "north")]),
        (8, 10.0, [Want("beans", 22.5, "south"), Want("pepper", 2.5, "north")]),
        # More than 10 mm in the gauge: what rain reaches is skipped.
        (8, 10.1, [Want("pepper", 2.5, "north")]),
        (6, 0.0, [Want("pepper", 2.5, "north")]),
        # A plan is for its own week.
        (11, 0.0, []),
        (3, 0.0, []),
    ],
)
def test_what_a_plan_says_for_an_evening(day: int, rain_mm: float, expected: list[Want]) -> None:
    told = water_told(
        plan(BEANS, PEPPER, LEFT),
        date(2031, 7, day),
        rain_mm=rain_mm,
        rained_on={"beans", "leeks"},
        can_l=9.0,
    )
    assert told == expected


def test_daily_water_without_a_butt_is_tap_water() -> None:
    told = water_told(plan(SEEDLINGS), TODAY, rain_mm=0.0, rained_on=set(), can_l=9.0)
    assert told == [Want("seedlings", 1.0, None, tap=True)]


def test_feed_is_for_its_day() -> None:
    later = feed("beans", day="2031-07-06")
    assert feed_told(plan(feeds=(feed("leeks"), later)), TODAY) == [feed("leeks")]


@pytest.fixture
def world(garden: Garden, dry_year: dict[date, Day]) -> World:
    world = world_on(garden, dry_year, TODAY, last=date(2031, 7, 31), seed=1)
    for butt in world.rainwater.butts.values():
        butt.water_l = butt.capacity_l
    return world


def test_who_has_heard_no_plan_waters_nothing(world: World) -> None:
    assert Gardener(world, habit="follows").water(EVENING) == []


def test_who_follows_gives_what_is_told_and_says_so(world: World) -> None:
    follower = Gardener(world, habit="follows")
    follower.hear(plan(BEANS, LEFT))
    south_l = world.rainwater.butts["south"].above_tap_l
    said = follower.water(EVENING)
    at = "2031-07-05T19:00:00+01:00"
    assert said == [{"kind": "watered", "at": at, "bed": "beans", "litres": 27.0, "butt": "south"}]
    assert south_l - world.rainwater.butts["south"].above_tap_l == pytest.approx(27.0)


def test_the_gauge_counts_from_when_the_plan_came(world: World) -> None:
    follower = Gardener(world, habit="follows")
    told = plan(BEANS)
    follower.hear(told)
    world.rain_mm += 10.5
    # The same plan heard again is no new one.
    follower.hear(told)
    assert follower.water(EVENING) == []
    follower.hear({**told, "issued": "2031-07-05T06:30:00+01:00"})
    assert follower.water(EVENING) != []


def test_feed_goes_into_a_can_of_the_beds_water(world: World) -> None:
    steep = {"kind": "steep-started", "vessel": "barrel", "at": EVENING.isoformat()}
    do(world, {**steep, "water_l": 54.0}, EVENING - timedelta(days=30))
    follower = Gardener(world, habit="follows")
    follower.hear(plan(BEANS, feeds=(feed("beans"), feed("leeks"))))
    before_l = world.rainwater.above_taps_l()
    told = [(entry["kind"], entry["bed"]) for entry in follower.water(EVENING)]
    assert told == [
        ("watered", "beans"),
        ("watered", "leeks"),
        ("fed", "beans"),
        ("fed", "leeks"),
    ]
    # Beans have their can of feed in their three cans, leeks in one of their own.
    assert before_l - world.rainwater.above_taps_l() == pytest.approx(27.0 + 9.0)
    barrel = world.vessels["barrel"].steep
    assert barrel is not None
    assert barrel.liquid_l == pytest.approx(54.0 - 0.06)


def test_where_there_is_no_water_nothing_is_fed(world: World) -> None:
    world.rainwater.draw(world.rainwater.above_taps_l())
    follower = Gardener(world, habit="follows")
    follower.hear(plan(BEANS, feeds=(feed("beans"),)))
    assert follower.water(EVENING) == []


def test_tap_water_is_bought(world: World) -> None:
    follower = Gardener(world, habit="follows")
    follower.hear(plan(line("pepper", daily_l=1.5, litres=10.5)))
    before_l = world.rainwater.above_taps_l()
    assert follower.water(EVENING) == []
    assert world.rainwater.above_taps_l() == before_l
    assert world.today.tap_l == 1.5
