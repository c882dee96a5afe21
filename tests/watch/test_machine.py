"""The rules about the machine itself."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from tests.gardens import make_garden

from steepwell.sense.link import LinkState
from steepwell.watch.machine import broker_unreachable, worker_failed

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
