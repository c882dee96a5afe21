"""What is said of butts, vessels, beds and sensors, and how cans are tallied."""

from __future__ import annotations

import copy
import dataclasses
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest
from tests.gardens import note, put_readings
from tests.page.conftest import BESIDE, NOW

from steepwell.garden.load import garden_from
from steepwell.page.desk import Desk
from steepwell.page.facts import Facts, facts_of
from steepwell.page.gate import WrongTokens
from steepwell.page.tally import tally_of
from steepwell.page.things import ago, beds_said, butts_said, sensors_said, vessels_said
from steepwell.page.writing import Once

if TYPE_CHECKING:
    from pathlib import Path

    from steepwell.clock import ReplayClock
    from steepwell.garden.garden import Garden
    from steepwell.page.desk import Ask
    from steepwell.store.store import Store

Json = dict[str, Any]

PROBE: Json = {
    "name": "north-level",
    "measures": "level",
    "of": "north",
    "reads": "litres",
    "topic": "orchard/north",
    "payload": "number",
}

READY: Json = {
    "p10": "2031-06-18",
    "p50": "2031-06-20",
    "p90": "2031-06-23",
    "in_d": {"p10": 12.0, "p50": 14.0, "p90": 17.0},
}


@pytest.fixture
def garden(raw: Json, tmp_path: Path) -> Garden:
    raw["sensor"].append(PROBE)
    return garden_from(raw, path=tmp_path / "garden.toml")


@pytest.fixture
def desk(garden: Garden, store: Store, clock: ReplayClock, ask: Ask, worked_out: None) -> Desk:  # noqa: ARG001 - first that
    assert garden.page is not None
    return Desk(garden, garden.page, store, clock, ask, WrongTokens(), Once())


def north(facts: Facts) -> tuple[str, str]:
    said = next(each for each in butts_said(facts) if each.name == "north")
    return said.amount, said.known


def test_a_butt_is_told_by_what_was_read_last(desk: Desk, store: Store, garden: Garden) -> None:
    # The outlook of this morning had 143.2 L.
    assert north(facts_of(desk)) == ("140 of 210 L", "reckoned 3 hours ago")
    put_readings(store, "north-level", {NOW - timedelta(minutes=12): 120.0})
    assert north(facts_of(desk)) == ("120 of 210 L", "by its probe 12 minutes ago")
    note(store, garden, NOW - timedelta(minutes=1), "level-read", butt="north", litres=90.0)
    assert north(facts_of(desk)) == ("90 of 210 L", "read by hand 1 minute ago")
    put_readings(store, "north-level", {NOW: 200.0}, flag=4)
    assert north(facts_of(desk))[0] == "90 of 210 L"


def test_a_vessel_is_told_with_its_dose_first_and_what_locks_it(desk: Desk, store: Store) -> None:
    leek, comfrey = vessels_said(facts_of(desk))
    assert leek.dose == "use 1:300, 2 tablespoons a can"
    assert comfrey.dose == ""
    assert "about 11 June (10 to 13 June)" in comfrey.lines[0]
    locked: Json = copy.deepcopy(BESIDE)
    locked["vessels"][0]["locks"] = ["clubroot was in the cabbages"]
    store.results.save("page", NOW, locked)
    assert vessels_said(facts_of(desk))[0].lines[0] == "Locked: Clubroot was in the cabbages."


def test_a_vessel_is_told_as_noted_until_there_are_figures(
    desk: Desk, store: Store, garden: Garden
) -> None:
    def lines(name: str) -> tuple[str, ...]:
        said = next(each for each in vessels_said(facts_of(desk)) if each.name == name)
        return said.lines

    matter = [{"plant": "nettle", "buckets": 1}]
    note(store, garden, NOW - timedelta(days=50), "steep-started", vessel="leek", matter=matter)
    note(store, garden, NOW - timedelta(hours=2), "vessel-emptied", vessel="leek")
    assert lines("leek") == ("Empty.",)
    note(store, garden, NOW - timedelta(hours=1), "steep-started", vessel="leek", matter=matter)
    assert lines("leek") == ("Started 6 June, figures to come.",)
    started: Json = copy.deepcopy(store.results.latest("outlook", NOW) or {})
    started["vessels"][0].update(started="2031-06-06", dilution_parts=None, ready=READY)
    store.results.save("outlook", NOW, started)
    assert "about 20 June" in lines("leek")[0]


def test_without_a_weather_record_no_figures_are_promised(
    desk: Desk, store: Store, garden: Garden
) -> None:
    bare = dataclasses.replace(desk, garden=garden.model_copy(update={"weather_record": None}))
    matter = [{"plant": "nettle", "buckets": 1}]
    early = NOW - timedelta(days=200)
    note(store, garden, early, "steep-started", vessel="leek", matter=matter)
    leek, _ = vessels_said(dataclasses.replace(facts_of(bare), outlook=None))
    assert leek.lines[0].startswith("Started 18 November. When it is ready is not known")


def test_a_bed_is_told_by_what_was_noted_since(desk: Desk, store: Store, garden: Garden) -> None:
    def beans() -> tuple[str, tuple[str, ...]]:
        said = next(each for each in beds_said(facts_of(desk)) if each.name == "beans")
        return said.crop, said.lines

    assert beans() == (
        "bean, since 12 May",
        ("2½ cans each time, on Sunday 8 and Wednesday 11 June.",),
    )
    note(store, garden, NOW - timedelta(hours=4), "watered", bed="beans", litres=18.0)
    note(store, garden, NOW - timedelta(hours=2), "cleared", bed="beans")
    assert beans()[0] == "cleared 6 June"
    assert beans()[1][1] == "Watered 4 hours ago."
    note(store, garden, NOW - timedelta(hours=1), "planted", bed="beans", crop="leek")
    assert beans()[0] == "leek, since 6 June"


def test_a_sensor_is_told_with_its_age_and_any_doubt(desk: Desk, store: Store) -> None:
    gauge, level = sensors_said(facts_of(desk))
    assert (gauge.age, level.age) == ("never heard", "never heard")
    put_readings(store, "north-level", {NOW - timedelta(hours=5): 120.0}, flag=3)
    put_readings(store, "gauge", {NOW - timedelta(hours=2): 1.0, NOW - timedelta(hours=1): 3.0})
    gauge, level = sensors_said(facts_of(desk))
    assert (gauge.value, gauge.age, gauge.doubt) == ("2.0 mm today", "1 hour ago", "")
    assert (level.value, level.age, level.doubt) == ("120 L", "5 hours ago", "In doubt.")


@pytest.mark.parametrize(
    ("passed", "said"),
    [
        (timedelta(seconds=59), "just now"),
        (timedelta(seconds=-5), "just now"),
        (timedelta(minutes=1), "1 minute ago"),
        (timedelta(minutes=59), "59 minutes ago"),
        (timedelta(hours=1), "1 hour ago"),
        (timedelta(hours=47), "47 hours ago"),
        (timedelta(hours=48), "2 days ago"),
        (timedelta(days=14), "14 days ago"),
        (timedelta(days=15), "on 22 May"),
    ],
)
def test_how_long_ago_something_was(passed: timedelta, said: str) -> None:
    assert ago(NOW - passed, NOW) == said


@pytest.mark.parametrize(
    ("cans", "strokes", "each"),
    [(1.0, 1, 1), (4.9, 4, 1), (5.0, 5, 1), (40.0, 40, 1), (41.0, 20, 2), (3500.0, 35, 100)],
)
def test_each_whole_can_is_a_stroke_or_several_are(cans: float, strokes: int, each: int) -> None:
    tally = tally_of(cans)
    assert tally is not None
    assert (tally.path.count("M"), tally.each) == (strokes, each)


def test_less_than_a_can_is_no_stroke() -> None:
    assert tally_of(0.9) is None


def test_nothing_is_said_of_a_moment_in_another_zone() -> None:
    assert ago(datetime.fromisoformat("2031-06-06T09:30+01:00"), NOW) == "30 minutes ago"
