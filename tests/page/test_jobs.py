"""A job opened from a letter: looking notes nothing, a button notes it once."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

import html5lib
import pytest
from tests.page.conftest import NOW
from tests.tell.conftest import PLAN

from steepwell.store.entries import Matter, ReadyConfirmed, SteepStarted
from steepwell.tell.documents import Plan
from steepwell.tell.jobs import jobs
from steepwell.tell.links import EXPIRES, JOB_LINKS, JobLink, id_of, job_token

if TYPE_CHECKING:
    from starlette.testclient import TestClient

    from steepwell.clock import ReplayClock
    from steepwell.garden.garden import Garden
    from steepwell.store.store import Store

Json = dict[str, Any]

ISSUED = datetime.fromisoformat(PLAN["issued"])
WATER = "water/beans/2031-06-08"
FEED = "feed/leeks/2031-06-07"


@pytest.fixture
def told(store: Store) -> Store:
    start = NOW - timedelta(days=60)
    steep = SteepStarted(at=start, vessel="leek", matter=(Matter(plant="leek"),))
    store.journal.append(steep, start)
    store.journal.append(ReadyConfirmed(at=start, vessel="leek"), start)
    store.results.save("plan", ISSUED + timedelta(milliseconds=700), PLAN)
    return store


def path_of(store: Store, job: str, *, issued: datetime = ISSUED) -> str:
    secret = store.secrets.made(JOB_LINKS)
    return f"/done/{job_token(JobLink(issued, job, 'robin'), secret)}"


@pytest.fixture
def feeding(garden: Garden, told: Store) -> str:
    job = next(j for j in jobs(Plan.model_validate(PLAN), garden) if j.do.startswith("Feed"))
    return path_of(told, job.id)


@pytest.fixture
def watering(garden: Garden, told: Store) -> str:
    job = next(j for j in jobs(Plan.model_validate(PLAN), garden) if j.do.startswith("Water"))
    return path_of(told, job.id)


def kinds(store: Store, clock: ReplayClock) -> list[str]:
    entries = store.journal.entries(clock.now(), since=NOW)
    return [entry.kind for entry in entries]


def test_looking_at_a_job_notes_nothing(
    page: TestClient, store: Store, clock: ReplayClock, feeding: str
) -> None:
    for method in ("GET", "HEAD", "GET"):
        answer = page.request(method, f"{feeding}?not")
        assert answer.status_code == 200
    html5lib.HTMLParser(strict=True).parse(answer.text)
    assert "Feed leeks, 2 tablespoons" in answer.text
    assert answer.text.index(">Not done</button>") < answer.text.index(">Done</button>")
    assert kinds(store, clock) == []


def test_one_tap_writes_all_and_a_second_changes_nothing(
    page: TestClient, store: Store, clock: ReplayClock, feeding: str
) -> None:
    first = page.post(feeding, data={"what": "job-done"}, follow_redirects=False)
    assert (first.status_code, first.headers["location"]) == (303, f"{feeding}?said=noted")
    assert kinds(store, clock) == ["job-done", "watered", "fed", "drawn-off"]
    second = page.post(feeding, data={"what": "job-done"})
    assert "noted already; nothing is changed" in second.text
    html5lib.HTMLParser(strict=True).parse(second.text)
    assert kinds(store, clock) == ["job-done", "watered", "fed", "drawn-off"]
    assert {entry.by for entry in store.journal.entries(clock.now(), since=NOW)} == {"robin"}


def test_a_change_of_mind_leaves_what_was_said_last(
    page: TestClient, store: Store, clock: ReplayClock, feeding: str
) -> None:
    for what, left in (
        ("job-done", ["job-done", "watered", "fed", "drawn-off"]),
        ("job-not-done", ["job-not-done"]),
        ("undo", []),
        ("undo", []),
    ):
        assert page.post(feeding, data={"what": what}, follow_redirects=False).status_code == 303
        assert kinds(store, clock) == left


def test_of_a_job_of_two_days_a_tap_notes_the_one_that_is_due(
    page: TestClient, store: Store, clock: ReplayClock, watering: str
) -> None:
    # Sunday and Wednesday are told; on Friday it is the first of them, on Thursday both.
    page.post(watering, data={"what": "job-done"})
    assert [getattr(e, "job", "") for e in store.journal.entries(NOW, kinds=["job-done"])] == [
        WATER
    ]
    clock.set(NOW + timedelta(days=6))
    page.post(watering, data={"what": "job-done"})
    days = [entry.at.day for entry in store.journal.entries(clock.now(), kinds=["watered"])]
    assert days == [6, 11]


def test_it_was_another_bed(
    page: TestClient, store: Store, clock: ReplayClock, watering: str
) -> None:
    tap = {"what": "job-not-done", "task": WATER, "instead": "onions"}
    said = page.post(watering, data=tap).text
    assert "it was onions" in said
    (entry,) = store.journal.entries(clock.now(), since=NOW)
    assert (getattr(entry, "job", None), getattr(entry, "instead", None)) == (WATER, "onions")


def test_what_is_taken_as_done_is_undone(page: TestClient, told: Store, clock: ReplayClock) -> None:
    taken = {"job": FEED, "bed": "leeks", "day": "2031-06-07", "litres": None, "vessel": "leek"}
    later = ISSUED + timedelta(days=3)
    clock.set(later + timedelta(hours=2))
    plan = {**PLAN, "issued": later.isoformat(), "feed": [], "taken": [taken]}
    told.results.save("plan", later, plan)
    path = path_of(told, id_of([FEED]), issued=later)
    looked = page.get(path).text
    html5lib.HTMLParser(strict=True).parse(looked)
    assert "Fed leeks" in looked
    assert (
        page.post(
            path, data={"what": "job-not-done", "task": FEED}, follow_redirects=False
        ).status_code
        == 303
    )
    assert kinds(told, clock) == ["job-not-done"]


@pytest.mark.parametrize("how", ["cut short", "signed by another", "old", "unknown job"])
def test_an_address_that_is_not_good_is_answered_so(
    page: TestClient, store: Store, clock: ReplayClock, feeding: str, how: str
) -> None:
    path = {
        "cut short": feeding[:-3],
        "signed by another": f"/done/{job_token(JobLink(ISSUED, 'x', 'robin'), b'another')}",
        "old": feeding,
        "unknown job": path_of(store, "0123456789ab"),
    }[how]
    if how == "old":
        clock.set(ISSUED + EXPIRES + timedelta(minutes=1))
    for answer in (
        page.get(path),
        page.post(path, data={"what": "job-done"}, follow_redirects=False),
    ):
        assert answer.status_code == 404
        html5lib.HTMLParser(strict=True).parse(answer.text)
    assert kinds(store, clock) == []


@pytest.mark.parametrize(
    "fields",
    [
        {},
        {"what": "planted"},
        {"what": "job-done", "task": "water/beans/1999-01-01"},
        {"what": "job-not-done", "task": WATER, "instead": "nowhere"},
    ],
)
def test_what_no_button_sends_is_refused(
    page: TestClient, store: Store, clock: ReplayClock, watering: str, fields: Json
) -> None:
    answer = page.post(watering, data=fields, follow_redirects=False)
    assert answer.status_code == 409
    assert kinds(store, clock) == []


def test_the_front_leads_to_each_job_and_says_which_are_noted(
    page: TestClient, told: Store
) -> None:
    taken = {"job": FEED, "bed": "leeks", "day": "2031-06-03", "litres": None, "vessel": "leek"}
    told.results.save("plan", NOW - timedelta(minutes=5), {**PLAN, "taken": [taken]})
    before = page.get("/").text
    html5lib.HTMLParser(strict=True).parse(before)
    assert before.count("Done, or not?") == 2
    assert "Taken as done" in before
    paths = re.findall(r'href="(/done/[^"]+)"', before)
    assert len(paths) == 3
    assert {page.get(path).status_code for path in paths} == {200}
    page.post(paths[0], data={"what": "job-done"})
    after = page.get("/").text
    assert (after.count("Done, or not?"), after.count("<strong>Noted.</strong>")) == (1, 1)
