"""The rule about level probes that move while the water does not."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from tests.gardens import note
from tests.watch.faulty import HOUR, START, Hours, garden_of, told_of

from steepwell.store.store import garden_store_url, open_store
from steepwell.watch.creeping import levels_that_creep
from steepwell.watch.evidence import Evidence
from steepwell.watch.finding import events_of
from steepwell.watch.kinds import FAULTS
from steepwell.watch.water_faults import water_faults

if TYPE_CHECKING:
    from pathlib import Path

    from steepwell.watch.finding import Finding

BOTH = ("north", "south")


def found(folder: Path, hours: Hours) -> list[Finding]:
    told = told_of(folder, hours, levels_that_creep)
    assert isinstance(told, list)
    return told


def rising(l_d: float, *butts: str, days: int = 14) -> Hours:
    hours = Hours(days, BOTH, start_l=60.0)
    for day in (3, 8):
        hours.rain(day, 3.0)
    for butt in butts:
        hours.change_l[butt] += l_d / 24
    return hours


def test_a_level_that_rises_without_rain_is_told(tmp_path: Path) -> None:
    (finding,) = found(tmp_path, rising(2.0, "north"))
    assert (finding.kind, finding.subject) == ("probe-drifts", "north-level")
    assert finding.figures["rise_l_d"] == pytest.approx(2.0, abs=0.2)
    assert "2 L a day" in finding.text
    assert "other butts held" in finding.text


def test_of_one_butt_nothing_is_said_of_others(tmp_path: Path) -> None:
    hours = Hours(12, start_l=60.0)
    hours.change_l["north"] += 2.0 / 24
    (finding,) = found(tmp_path, hours)
    assert "other butts" not in finding.text


@pytest.mark.parametrize(
    "hours",
    [
        rising(0.0),
        rising(0.4, "north"),
        # What reaches both is no probe's: dew, a thaw, a cold week.
        rising(2.0, *BOTH),
        rising(2.0, "north", days=4),
    ],
    ids=["nothing", "too little", "both alike", "too short"],
)
def test_what_may_be_water_is_not_told(tmp_path: Path, hours: Hours) -> None:
    assert found(tmp_path, hours) == []


def test_water_that_one_butt_loses_to_another_is_not_told(tmp_path: Path) -> None:
    hours = rising(3.0, "north")
    hours.change_l["south"] -= 3.0 / 24
    assert found(tmp_path, hours) == []


def test_what_the_sun_does_by_day_alone_is_not_told(tmp_path: Path) -> None:
    hours = rising(0.0)
    at = np.arange(len(hours.rain_mm)) % 24
    hours.change_l["north"][(at >= 8) & (at < 18)] += 0.2
    assert found(tmp_path, hours) == []


def test_in_frost_nothing_is_said_of_rising_levels(tmp_path: Path) -> None:
    hours = rising(2.0, "north")
    hours.air_c -= 10.0
    assert found(tmp_path, hours) == []


@pytest.mark.parametrize(
    ("sticks", "way"),
    [
        ((100.0, 120.0), "less"),
        ((100.0, 80.0), "more"),
        ((100.0, 108.0), None),
        ((70.0, 70.0), None),
    ],
)
def test_a_probe_that_parts_from_the_stick_is_told(
    tmp_path: Path, sticks: tuple[float, float], way: str | None
) -> None:
    hours = Hours(20, start_l=100.0)
    garden = garden_of(tmp_path)
    with open_store(garden_store_url(garden), garden) as store:
        hours.store(store)
        for day, litres in zip((2, 18), sticks, strict=True):
            note(store, garden, START + day * 24 * HOUR, "level-read", butt="north", litres=litres)
        entries = store.journal.entries(hours.now)
        findings = levels_that_creep(Evidence(garden, store, entries, hours.now))
    assert [finding.subject for finding in findings] == (["north-level"] if way else [])
    assert all(f"{way} than some weeks ago" in finding.text for finding in findings)


def test_a_probe_that_creeps_says_nothing_of_its_butt_and_is_over_when_it_holds(
    tmp_path: Path,
) -> None:
    hours = Hours(30, BOTH, start_l=60.0)
    hours.change_l["north"][: 24 * 15] += 2.0 / 24
    garden = garden_of(tmp_path, BOTH)
    told = []
    with open_store(garden_store_url(garden), garden) as store:
        hours.store(store)
        for day in (6, 14, 15, 30):
            now = START + day * 24 * HOUR + 6.5 * HOUR
            findings = water_faults(garden, store, [], now)
            new = events_of(findings, store.notices.standing(), FAULTS, now)
            store.notices.record(new)
            told += [(event.event, event.id) for event in new]
    assert told == [
        ("raised", "probe-drifts/north-level"),
        ("cleared", "probe-drifts/north-level"),
    ]
