"""The rule about downpipes."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from tests.watch.faulty import HOUR, START, Hours, garden_of, told_of

from steepwell.store.store import garden_store_url, open_store
from steepwell.watch.downpipes import RAISED_AT, Tried, downpipes, weighed
from steepwell.watch.evidence import Evidence
from steepwell.watch.finding import events_of
from steepwell.watch.kinds import DOWNPIPE, GAUGE_TOO_HIGH

if TYPE_CHECKING:
    from pathlib import Path

    from steepwell.watch.finding import Finding

RAINY_DAYS = (2, 4, 6)


def found(folder: Path, hours: Hours) -> list[Finding]:
    told = told_of(folder, hours, downpipes)
    assert isinstance(told, list)
    return told


def rainy(butts: tuple[str, ...] = ("north",), *, mm: float = 6.0, start_l: float = 40.0) -> Hours:
    hours = Hours(8, butts, start_l=start_l)
    for day in RAINY_DAYS:
        hours.rain(day, mm)
    return hours


def test_one_rain_is_never_enough_and_two_are() -> None:
    blocked = Tried(should_l=90.0, did_l=5.0, favours=400.0)
    assert weighed([blocked])[0] < RAISED_AT
    sum_, since = weighed([blocked, blocked])
    assert sum_ >= RAISED_AT
    assert since == [blocked, blocked]


def test_a_rain_that_comes_through_ends_it() -> None:
    blocked, sound = Tried(90.0, 5.0, 400.0), Tried(90.0, 88.0, -400.0)
    assert weighed([blocked, blocked, blocked, sound])[0] < 2.5
    assert weighed([sound, sound, blocked])[1] == [blocked]


def test_sound_pipes_are_not_told(tmp_path: Path) -> None:
    assert found(tmp_path, rainy(("north", "south"))) == []


def test_a_blocked_pipe_is_told_with_its_litres(tmp_path: Path) -> None:
    hours = rainy(("north", "south"))
    hours.catches["south"][:] = 0.05
    (finding,) = found(tmp_path, hours)
    assert (finding.kind, finding.subject) == ("downpipe-blocked", "south-roof")
    # Three rains of 6 mm less 0.3 mm of wetting on 8 L a mm; the gauge counts in fifths of a mm.
    assert finding.figures["should_l"] == pytest.approx(3 * 5.7 * 8.0, rel=0.15)
    assert finding.figures["did_l"] == pytest.approx(0.05 * 3 * 5.7 * 8.0, abs=6.0)
    assert finding.figures["rains"] == len(RAINY_DAYS)


def test_half_of_the_water_is_no_blocked_pipe(tmp_path: Path) -> None:
    hours = rainy()
    hours.catches["north"][:] = 0.6
    assert found(tmp_path, hours) == []


def test_a_full_butt_says_nothing(tmp_path: Path) -> None:
    hours = rainy(start_l=200.0)
    hours.catches["north"][:] = 0.0
    assert found(tmp_path, hours) == []


def test_where_no_butt_rises_the_gauge_is_doubted(tmp_path: Path) -> None:
    hours = rainy(("north", "south"))
    for catches in hours.catches.values():
        catches[:] = 0.0
    (finding,) = found(tmp_path, hours)
    assert finding.kind == "gauge-counts-too-much"


def test_a_story_of_a_pipe(tmp_path: Path) -> None:
    hours = Hours(20, ("north", "south"), start_l=30.0)
    for day in (2, 5, 8, 11, 14):
        hours.rain(day, 5.0)
    hours.catches["north"][24 * 4 : 24 * 10] = 0.05
    garden = garden_of(tmp_path, hours.butts)
    told = []
    with open_store(garden_store_url(garden), garden) as store:
        hours.store(store)
        for day in range(1, 20):
            now = START + day * 24 * HOUR + 6.5 * HOUR
            standing = store.notices.standing()
            findings = downpipes(Evidence(garden, store, [], now, standing))
            events = events_of(findings, standing, frozenset({DOWNPIPE, GAUGE_TOO_HIGH}), now)
            store.notices.record(events)
            told += [(event.event, event.id, day) for event in events]
    # It is told on the morning after its second rain, and over after the rain it lets through.
    assert told == [
        ("raised", "downpipe-blocked/north-roof", 9),
        ("cleared", "downpipe-blocked/north-roof", 12),
    ]
