from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

from steepwell.clock import ReplayClock
from steepwell.sense.standing import LinkState, Standing

if TYPE_CHECKING:
    import pytest

START = datetime(2031, 6, 1, 12, tzinfo=UTC)


def test_each_change_is_said_once(caplog: pytest.LogCaptureFixture) -> None:
    caplog.set_level("INFO")
    clock = ReplayClock(START)
    standing = Standing(clock, "127.0.0.1:1883")
    assert standing.state == LinkState(connected=False, since=None, last_error=None, tries=0)
    for minute in range(3):
        clock.set(START + timedelta(minutes=minute))
        standing.lost("nobody answers")
    assert standing.state == LinkState(
        connected=False, since=START, last_error="nobody answers", tries=3
    )
    clock.set(START + timedelta(minutes=5))
    standing.heard()
    assert standing.state == LinkState(
        connected=True, since=clock.now(), last_error="nobody answers", tries=0
    )
    clock.set(START + timedelta(minutes=9))
    standing.lost("it hung up")
    assert standing.state == LinkState(
        connected=False, since=clock.now(), last_error="it hung up", tries=0
    )
    keeps_on = "it is tried again until there is one"
    assert caplog.messages == [
        f"no connection to the broker at 127.0.0.1:1883: nobody answers; {keeps_on}",
        "connected to the broker at 127.0.0.1:1883",
        f"no connection to the broker at 127.0.0.1:1883: it hung up; {keeps_on}",
    ]
