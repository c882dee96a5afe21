"""All rules about what is broken: causes, consequences, and what was drawn unnoted."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.gardens import note, put_readings
from tests.watch.faulty import HOUR, START, Hours, garden_of

from steepwell.store.store import garden_store_url, open_store
from steepwell.watch.finding import events_of
from steepwell.watch.kinds import FAULTS
from steepwell.watch.water_faults import water_faults

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

BOTH = ("north", "south")


def told(folder: Path, hours: Hours) -> Sequence[tuple[int, str, str]]:
    """Return what is told on which morning."""
    garden = garden_of(folder, hours.butts)
    events = []
    with open_store(garden_store_url(garden), garden) as store:
        hours.store(store)
        for day in range(1, hours.days + 1):
            now = START + day * 24 * HOUR + 6.5 * HOUR
            findings = water_faults(garden, store, store.journal.entries(now), now)
            new = events_of(findings, store.notices.standing(), FAULTS, now)
            store.notices.record(new)
            events += [(day, event.event, event.id) for event in new]
    return events


def test_a_sound_garden_is_silent(tmp_path: Path) -> None:
    hours = Hours(30, BOTH)
    for day in (2, 5, 9, 15, 16, 22):
        hours.rain(day, 7.0)
    assert told(tmp_path, hours) == []


def test_a_leak_that_swallows_the_rain_is_no_blocked_pipe(tmp_path: Path) -> None:
    hours = Hours(14, BOTH, start_l=190.0)
    hours.change_l["north"] -= 15.0 / 24
    hours.rain(6, 4.0)
    # What comes is lost within the hours of the rain.
    hours.catches["north"][24 * 5 :] = 0.0
    hours.rain(9, 4.0)
    ids = {id_ for _, event, id_ in told(tmp_path, hours) if event == "raised"}
    assert ids == {"leak/north"}


def test_a_blocked_pipe_is_not_also_a_leak(tmp_path: Path) -> None:
    hours = Hours(14, BOTH, start_l=50.0)
    hours.catches["north"][:] = 0.03
    for day in (2, 4, 6, 9):
        hours.rain(day, 5.0)
    hours.change_l["north"][24 * 8 :] -= 5.0 / 24
    ids = [id_ for _, event, id_ in told(tmp_path, hours) if event == "raised"]
    assert ids == ["downpipe-blocked/north-roof"]


def test_nothing_is_called_broken_in_a_garden_that_rests(tmp_path: Path) -> None:
    hours = Hours(8, start_l=150.0)
    hours.change_l["north"] -= 8.0 / 24
    garden = garden_of(tmp_path)
    with open_store(garden_store_url(garden), garden) as store:
        hours.store(store)
        assert [f.id for f in water_faults(garden, store, [], hours.now)] == ["leak/north"]
        note(store, garden, START + 150 * HOUR, "put-to-bed")
        entries = store.journal.entries(hours.now)
        assert water_faults(garden, store, entries, hours.now) == []


def test_what_was_drawn_unnoted_is_told_until_it_is_noted(tmp_path: Path) -> None:
    hours = Hours(4, start_l=150.0)
    hours.change_l["north"][24 * 2 + 18] -= 30.0
    garden = garden_of(tmp_path)
    with open_store(garden_store_url(garden), garden) as store:
        hours.store(store)
        (finding,) = water_faults(garden, store, [], hours.now)
        assert finding.id == "draw-off-guessed/north"
        assert abs(finding.figures["litres"] - 30.0) < 3.0
        assert finding.figures["days"] == ["2031-05-03"]
        note(store, garden, START + 67 * HOUR, "watered", bed="all", litres=30.0, butt="north")
        entries = store.journal.entries(hours.now)
        assert water_faults(garden, store, entries, hours.now) == []


def test_a_sensor_that_is_not_believed_is_told_and_says_nothing_else(tmp_path: Path) -> None:
    hours = Hours(6, start_l=120.0)
    hours.change_l["north"] -= 6.0 / 24
    garden = garden_of(tmp_path)
    with open_store(garden_store_url(garden), garden) as store:
        hours.store(store)
        assert [f.id for f in water_faults(garden, store, [], hours.now)] == ["leak/north"]
        quarters = [hours.now - (at + 0.25) * HOUR for at in range(20)]
        put_readings(store, "north-level", dict.fromkeys(quarters, 400.0), flag=4)
        (finding,) = water_faults(garden, store, [], hours.now)
        assert finding.id == "sensor-doubtful/north-level"
        assert finding.figures["doubted"] == 20
        # From half past six to midnight 18 readings, then one each hour.
        assert finding.figures["readings"] == 18 + 20
