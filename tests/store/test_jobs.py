"""The jobs of a plan: their names, what is noted of them, and what that writes."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest

from steepwell.errors import JournalError
from steepwell.sense.journal import entry_from
from steepwell.store.entries import (
    Corrected,
    DrawnOff,
    Entry,
    Fed,
    JobDone,
    Matter,
    ReadyConfirmed,
    SteepStarted,
    Watered,
)
from steepwell.store.tasks import Task, due_of, tasks_of

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden
    from steepwell.store.store import Store

Json = dict[str, Any]

# Sunday 8 June 2031, 20:00 in the garden.
NOW = datetime(2031, 6, 8, 19, tzinfo=UTC)
WATER: Json = {
    "bed": "beans",
    "daily_l": None,
    "cans": 5,
    "litres": 45.0,
    "days": ["2031-06-07", "2031-06-10"],
    "from": "north",
    "stop": False,
}
FEED: Json = {
    "bed": "onions",
    "vessel": "leek",
    "cans": 2,
    "feed_ml": 60.0,
    "day": "2031-06-08",
}


def plan_of(water: list[Json], feed: list[Json], first: str = "2031-06-06") -> Json:
    last = date.fromisoformat(first) + timedelta(days=6)
    return {"week": [first, last.isoformat()], "water": water, "feed": feed}


def told(garden: Garden, store: Store, **raw: object) -> Entry:
    return entry_from(raw, garden, NOW, store.journal, store.results)


@pytest.fixture
def planned(store: Store) -> Store:
    start = NOW - timedelta(days=40)
    matter = (Matter(plant="leek"),)
    store.journal.append(SteepStarted(at=start, vessel="leek", matter=matter), start)
    store.journal.append(ReadyConfirmed(at=start, vessel="leek"), start)
    store.results.save("plan", NOW - timedelta(days=2), plan_of([WATER], [FEED]))
    return store


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        # 5 cans of 9 L in two rounds, half cans, the first one more: 2½ and 2½.
        ({}, [("2031-06-07", 22.5), ("2031-06-10", 22.5)]),
        ({"cans": 5.5, "litres": 49.5}, [("2031-06-07", 27.0), ("2031-06-10", 22.5)]),
        ({"days": []}, [("2031-06-06", 45.0)]),
        ({"cans": None, "litres": 12.0, "days": ["2031-06-07"]}, [("2031-06-07", 12.0)]),
        (
            {"daily_l": 3.0, "cans": 0, "litres": 21.0, "days": []},
            [(f"2031-06-{day:02}", 3.0) for day in range(6, 13)],
        ),
        # A daily allowance from no butt comes from the tap.
        ({"daily_l": 3.0, "days": ["2031-06-07"], "from": None}, [("2031-06-07", None)]),
        ({"stop": True}, []),
        ({"litres": 0.0}, []),
    ],
)
def test_a_bed_has_one_task_a_day(
    garden: Garden, changes: Json, expected: list[tuple[str, float | None]]
) -> None:
    found = tasks_of(plan_of([{**WATER, **changes}], []), garden)
    assert [(task.day.isoformat(), task.litres) for task in found] == expected
    assert all(task.job == f"water/beans/{task.day}" for task in found)


def test_a_plan_made_again_names_the_same_job_alike(garden: Garden) -> None:
    again = plan_of([{**WATER, "cans": 4, "litres": 36.0, "from": "south"}], [FEED], "2031-06-07")
    first = {task.job for task in tasks_of(plan_of([WATER], [FEED]), garden)}
    assert first == {task.job for task in tasks_of(again, garden)}
    moved = plan_of([WATER], [{**FEED, "day": "2031-06-09"}])
    assert first ^ {task.job for task in tasks_of(moved, garden)} == {
        "feed/onions/2031-06-08",
        "feed/onions/2031-06-09",
    }


def test_feed_on_a_bed_that_is_not_watered_is_its_water_too(garden: Garden) -> None:
    tasks = tasks_of(plan_of([{**WATER, "bed": "onions"}], [FEED]), garden)
    assert tasks[-1].litres is None
    (alone,) = tasks_of(plan_of([], [FEED]), garden)
    assert (alone.litres, alone.feed_ml, alone.cans) == (18.0, 30.0, 2)


@pytest.mark.parametrize(
    ("today", "due"), [(5, [7]), (7, [7]), (9, [7]), (10, [7, 10]), (20, [7, 10])]
)
def test_what_is_due_is_what_has_come_or_comes_first(today: int, due: list[int]) -> None:
    tasks = [Task(f"water/beans/2031-06-{day:02}", "beans", date(2031, 6, day)) for day in (7, 10)]
    assert [task.day.day for task in due_of(tasks, date(2031, 6, today))] == due


def test_a_job_done_writes_watered_fed_and_drawn_off_together(
    garden: Garden, planned: Store
) -> None:
    number = planned.journal.append(
        told(garden, planned, kind="job-done", job="feed/onions/2031-06-08"), NOW
    )
    written = planned.journal.entries(NOW, since=NOW)
    assert [(type(each), each.id) for each in written] == [
        (kind, number) for kind in (JobDone, Watered, Fed, DrawnOff)
    ]
    _, watered, fed, drawn = written
    assert isinstance(watered, Watered)
    assert isinstance(fed, Fed)
    assert isinstance(drawn, DrawnOff)
    assert (watered.litres, watered.bed) == (18.0, "onions")
    assert (fed.feed_ml, fed.cans, fed.vessel) == (30.0, 2.0, "leek")
    assert drawn.litres == pytest.approx(0.06)
    kinds = ("drawn-off", "level-read")
    assert [each.kind for each in planned.journal.entries(NOW, kinds=kinds)] == ["drawn-off"]
    planned.journal.append(Corrected(at=NOW, withdraws=number), NOW)
    assert planned.journal.entries(NOW, since=NOW) == []


def test_what_is_noted_later_was_done_in_the_evening_of_its_day(
    garden: Garden, planned: Store
) -> None:
    done = told(garden, planned, kind="job-done", job="water/beans/2031-06-07")
    # 19:00 in the summer of the garden's time zone.
    assert done.at == datetime(2031, 6, 7, 18, tzinfo=UTC)
    early = told(garden, planned, kind="job-done", job="water/beans/2031-06-10")
    assert early.at == NOW


def test_without_a_day_it_is_the_newest_that_is_due(garden: Garden, planned: Store) -> None:
    first = told(garden, planned, kind="job-done", job="water/beans")
    planned.journal.append(first, NOW)
    second = told(garden, planned, kind="job-done", job="water/beans")
    not_done = told(garden, planned, kind="job-not-done", job="feed/onions")
    assert [getattr(each, "job", None) for each in (first, second, not_done)] == [
        "water/beans/2031-06-07",
        "water/beans/2031-06-10",
        "feed/onions/2031-06-08",
    ]


@pytest.mark.parametrize(
    ("first", "second", "says"),
    [
        ("job-done", "job-done", "noted as done already"),
        ("job-done", "job-not-done", "noted as done .* withdraw that first"),
        ("job-not-done", "job-done", "noted as not done .* withdraw that first"),
        ("job-not-done", "job-not-done", "noted as not done already"),
    ],
)
def test_a_job_is_noted_once(
    garden: Garden, planned: Store, first: str, second: str, says: str
) -> None:
    job = "water/beans/2031-06-07"
    number = planned.journal.append(told(garden, planned, kind=first, job=job), NOW)
    with pytest.raises(JournalError, match=says):
        told(garden, planned, kind=second, job=job)
    planned.journal.append(Corrected(at=NOW, withdraws=number), NOW)
    assert told(garden, planned, kind=second, job=job).kind == second


@pytest.mark.parametrize(
    ("raw", "says"),
    [
        ({"kind": "job-done", "job": "water/onions/2031-06-07"}, "no job"),
        ({"kind": "job-done", "job": "weeding"}, "no job 'weeding'.*such as"),
        ({"kind": "job-done", "job": "water/beans/2031-02-30", "litres": 5.0}, "day that is in"),
        ({"kind": "job-done", "job": "water/peas/2031-06-07", "litres": 5.0}, "no bed 'peas'"),
        ({"kind": "job-done"}, "job is missing"),
        (
            {"kind": "job-done", "job": "feed/onions/2031-06-08", "vessel": "leek"},
            "vessel, feed_ml and cans together",
        ),
        (
            {"kind": "job-not-done", "job": "water/beans/2031-06-07", "instead": "peas"},
            "no bed 'peas'",
        ),
        (
            {"kind": "job-not-done", "job": "water/beans/2031-06-07", "instead": "beans"},
            "instead of itself",
        ),
        (
            {"kind": "job-not-done", "job": "feed/onions/2031-06-08", "instead": "beans"},
            "just not done",
        ),
    ],
)
def test_what_cannot_be_is_refused(garden: Garden, planned: Store, raw: Json, says: str) -> None:
    with pytest.raises(JournalError, match=says):
        told(garden, planned, **raw)


def test_more_than_the_vessel_holds_is_not_drawn_by_a_job_either(
    garden: Garden, planned: Store
) -> None:
    thirsty = {"vessel": "leek", "feed_ml": 90_000.0, "cans": 1.0}
    with pytest.raises(JournalError, match="more than stands above the solids"):
        told(garden, planned, kind="job-done", job="feed/onions/2031-06-08", **thirsty)
