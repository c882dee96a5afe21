"""The rules about the machine itself."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from tests.gardens import make_garden

from steepwell.sense.link import LinkState
from steepwell.store.mirror import MirrorState
from steepwell.store.outbox import Stuck
from steepwell.watch.machine import (
    backup_old,
    broker_unreachable,
    mirror_behind,
    ways_failing,
    worker_failed,
)

GARDEN = make_garden(broker={"host": "127.0.0.1", "port": 1884})
SINCE = datetime(2031, 6, 1, tzinfo=UTC)


@pytest.mark.parametrize(
    ("link", "found"),
    [
        (None, False),
        (LinkState(connected=True, since=SINCE, last_error=None, tries=0), False),
        (LinkState(connected=False, since=SINCE, last_error=None, tries=1), True),
        (LinkState(connected=False, since=SINCE, last_error="refused", tries=7), True),
    ],
)
def test_a_broker_that_does_not_answer_is_told(link: LinkState | None, *, found: bool) -> None:
    assert bool(broker_unreachable(GARDEN, link)) == found


def test_a_broker_is_told_with_its_address_and_why() -> None:
    link = LinkState(connected=False, since=SINCE, last_error="connection refused", tries=7)
    (finding,) = broker_unreachable(GARDEN, link)
    assert "127.0.0.1:1884" in finding.text
    assert "connection refused" in finding.text
    assert finding.figures == {"tries": 7}


def test_a_garden_without_a_broker_misses_none() -> None:
    link = LinkState(connected=False, since=SINCE, last_error=None, tries=1)
    assert broker_unreachable(make_garden(), link) == []


def test_heavy_work_that_failed_is_told_by_its_job() -> None:
    finding = worker_failed("outlook", "the worker took longer than 120 s")
    assert finding.id == "worker-failed/outlook"
    assert "took longer than 120 s. What was worked out before still stands" in finding.text


def mirror_state(reason: str | None, *, lasting: bool = False) -> MirrorState:
    return MirrorState(
        days_from=SINCE,
        issued=SINCE,
        complete=SINCE,
        failures=3,
        next_try=SINCE,
        lasting=lasting,
        reason=reason,
    )


@pytest.mark.parametrize(
    ("state", "hours", "found"),
    [
        (None, 48, False),
        (mirror_state(None), 48, False),
        (mirror_state("it answers 503"), 5.9, False),
        (mirror_state("it answers 503"), 6, True),
        (mirror_state("it answers 401", lasting=True), 0, True),
    ],
)
def test_a_mirror_is_behind_after_six_hours_or_when_waiting_does_not_mend_it(
    state: MirrorState | None, hours: float, *, found: bool
) -> None:
    assert bool(mirror_behind(GARDEN, state, SINCE + timedelta(hours=hours))) == found


def test_a_mirror_that_is_behind_is_told_with_the_reason() -> None:
    state = mirror_state("http://127.0.0.1:8086 cannot be reached")
    (finding,) = mirror_behind(GARDEN, state, SINCE + timedelta(hours=30))
    assert finding.text.startswith(
        "It lacks what came since 1 June 00:00: http://127.0.0.1:8086 cannot be reached. Nothing"
    )
    assert finding.figures == {"tries": 3, "behind_h": 30.0}


def stuck(way: str, *, who: str = "pat") -> Stuck:
    return Stuck(who, way, 2, SINCE, "451 try again later")


@pytest.mark.parametrize(("minutes", "found"), [(0, []), (119, []), (120, ["mail-failing/mail"])])
def test_mail_that_is_not_taken_is_told_after_two_hours(minutes: int, found: list[str]) -> None:
    told = ways_failing([stuck("mail")], SINCE + timedelta(minutes=minutes))
    assert [finding.id for finding in told] == found


def test_a_mail_server_is_one_and_each_push_way_its_own() -> None:
    all_stuck = [stuck("mail"), stuck("mail", who="kim"), stuck("file:pat"), stuck("env:KIM")]
    told = ways_failing(all_stuck, SINCE + timedelta(days=1))
    assert sorted(finding.id for finding in told) == ["mail-failing/mail", "push-failing/pat"]
    assert "451 try again later" in told[0].text
    assert ways_failing([], SINCE) == []


@pytest.mark.parametrize(("days", "found"), [(None, False), (2.9, False), (3.0, True)])
def test_a_backup_is_old_after_three_days(days: float | None, *, found: bool) -> None:
    last = None if days is None else SINCE - timedelta(days=days)
    assert bool(backup_old(last, SINCE)) == found
