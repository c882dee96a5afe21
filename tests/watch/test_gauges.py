"""The rule about the rain gauge."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from tests.gardens import note
from tests.watch.faulty import HOUR, START, Hours, garden_of, told_of

from steepwell.store.store import garden_store_url, open_store
from steepwell.watch.evidence import Evidence
from steepwell.watch.gauges import gauge_blocked

if TYPE_CHECKING:
    from pathlib import Path

    from steepwell.watch.finding import Finding

BOTH = ("north", "south")


def found(folder: Path, hours: Hours) -> list[Finding]:
    told = told_of(folder, hours, gauge_blocked)
    assert isinstance(told, list)
    return told


def rainy(butts: tuple[str, ...] = BOTH, days: tuple[int, ...] = (3, 6)) -> Hours:
    hours = Hours(9, butts, start_l=40.0)
    for day in days:
        hours.rain(day, 6.0)
    return hours


def test_a_gauge_that_counts_is_not_told(tmp_path: Path) -> None:
    assert found(tmp_path, rainy()) == []


def test_a_blocked_gauge_is_told_with_what_the_butts_show(tmp_path: Path) -> None:
    hours = rainy()
    hours.gauge[:] = 0.0
    (finding,) = found(tmp_path, hours)
    assert (finding.kind, finding.subject) == ("gauge-blocked", "gauge")
    assert finding.figures["seen_mm"] == pytest.approx(12.0, rel=0.15)
    assert finding.figures["counted_mm"] == 0.0


def test_one_rise_is_not_enough(tmp_path: Path) -> None:
    hours = rainy(days=(3,))
    hours.gauge[:] = 0.0
    assert found(tmp_path, hours) == []


def test_in_frost_and_after_it_no_gauge_is_blocked(tmp_path: Path) -> None:
    hours = rainy()
    hours.gauge[:] = 0.0
    # Snow by night, which melts on the next day.
    hours.air_c -= 14.0
    assert found(tmp_path, hours) == []


def test_it_counts_again(tmp_path: Path) -> None:
    hours = rainy(days=(2, 4, 6))
    hours.gauge[: 24 * 5] = 0.0
    assert found(tmp_path, hours) == []


def test_one_butt_that_rises_alone_was_filled(tmp_path: Path) -> None:
    hours = Hours(9, BOTH, start_l=40.0)
    for day in (3, 6):
        hours.change_l["north"][24 * day + 12] += 50.0
    assert found(tmp_path, hours) == []


def test_tap_water_that_was_noted_is_no_rain(tmp_path: Path) -> None:
    hours = Hours(9, start_l=40.0)
    for day in (2, 4, 6):
        hours.change_l["north"][24 * day + 12] += 50.0
    garden = garden_of(tmp_path)
    with open_store(garden_store_url(garden), garden) as store:
        hours.store(store)
        assert gauge_blocked(Evidence(garden, store, [], hours.now))
        for day in (2, 4, 6):
            at = START + (24 * day + 12.5) * HOUR
            note(store, garden, at, "tap-water-added", butt="north", litres=50.0)
        noted = store.journal.entries(hours.now)
        assert gauge_blocked(Evidence(garden, store, noted, hours.now)) == []
