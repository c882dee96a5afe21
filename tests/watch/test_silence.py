"""The rule about sensors that are not heard."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from tests.gardens import AIR, GAUGE, level_probe, make_garden

from steepwell.store.store import garden_store_url, open_store
from steepwell.watch.finding import events_of
from steepwell.watch.silence import SILENT, silent_sensors

if TYPE_CHECKING:
    from pathlib import Path

NOW = datetime(2031, 6, 10, 12, 0, tzinfo=UTC)
HOUR = timedelta(hours=1)
DAY = timedelta(days=1)
LONG_AGO = NOW - 30 * DAY
THREE = make_garden(sensor=[GAUGE, AIR, level_probe("north")])
ONE = make_garden(sensor=[GAUGE])


def silent(heard: dict[str, timedelta], *, since: datetime = LONG_AGO) -> list[str]:
    last = {name: NOW - ago for name, ago in heard.items()}
    return [finding.subject for finding in silent_sensors(THREE, last, since, NOW)]


@pytest.mark.parametrize(
    ("heard", "expected"),
    [
        ({"gauge": HOUR, "shade": HOUR, "north-level": HOUR}, []),
        ({"gauge": DAY, "shade": HOUR, "north-level": HOUR}, []),
        ({"gauge": DAY + HOUR / 60, "shade": HOUR, "north-level": HOUR}, ["gauge"]),
        ({"gauge": 2 * DAY, "shade": 3 * DAY, "north-level": HOUR}, ["gauge", "shade"]),
        # Never heard, in a month.
        ({"gauge": HOUR, "north-level": HOUR}, ["shade"]),
        # None of several is heard: that is one thing, not three.
        ({"gauge": 2 * DAY, "shade": 3 * DAY, "north-level": 2 * DAY}, ["all"]),
        ({}, ["all"]),
    ],
)
def test_a_sensor_not_heard_for_a_day_is_silent(
    heard: dict[str, timedelta], expected: list[str]
) -> None:
    assert silent(heard) == expected


def test_a_sensor_never_heard_is_waited_for_a_day() -> None:
    assert silent({"gauge": HOUR, "north-level": HOUR}, since=NOW - DAY) == []
    assert silent({"gauge": HOUR, "north-level": HOUR}, since=NOW - DAY - HOUR) == ["shade"]


def test_the_only_sensor_is_told_by_its_name() -> None:
    (finding,) = silent_sensors(ONE, {"gauge": NOW - 2 * DAY}, LONG_AGO, NOW)
    assert finding.subject == "gauge"
    assert "8 June at 12:00" in finding.text


def test_a_garden_without_sensors_has_no_silence() -> None:
    assert silent_sensors(make_garden(), {}, LONG_AGO, NOW) == []


def test_all_silent_says_when_one_was_last_heard() -> None:
    last = {"gauge": NOW - 2 * DAY, "shade": NOW - 3 * DAY}
    (finding,) = silent_sensors(THREE, last, LONG_AGO, NOW)
    assert "None of the 3 sensors" in finding.text
    assert "8 June at 12:00" in finding.text


def test_a_story_of_silence(tmp_path: Path) -> None:
    # Hours since the last reading of each sensor, and what is told.
    story: list[tuple[tuple[int, int, int], list[tuple[str, str]]]] = [
        ((1, 1, 1), []),
        ((30, 1, 1), [("sensor-silent/gauge", "raised")]),
        ((31, 1, 1), []),
        # The others fall silent too: one notice more, and the first stays.
        ((60, 30, 30), [("sensor-silent/all", "raised")]),
        ((61, 31, 31), []),
        # One is heard again: what is left is told by name.
        (
            (62, 1, 32),
            [("sensor-silent/all", "cleared"), ("sensor-silent/north-level", "raised")],
        ),
        (
            (1, 2, 1),
            [("sensor-silent/gauge", "cleared"), ("sensor-silent/north-level", "cleared")],
        ),
    ]
    garden = make_garden(tmp_path)
    with open_store(garden_store_url(garden), garden) as store:
        for number, (hours, expected) in enumerate(story):
            now = NOW + number * HOUR
            names = ("gauge", "shade", "north-level")
            last = {name: now - ago * HOUR for name, ago in zip(names, hours, strict=True)}
            standing = store.notices.standing()
            stand = {notice.subject for notice in standing}
            findings = silent_sensors(THREE, last, LONG_AGO, now, stand=stand)
            events = events_of(findings, standing, frozenset({SILENT}), now)
            store.notices.record(events)
            assert [(event.id, event.event) for event in events] == expected, hours
