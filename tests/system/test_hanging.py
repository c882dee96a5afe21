"""What the watchdog goes by: a part that hangs is found out, one that only waits is not."""

from __future__ import annotations

import os
import threading
from typing import TYPE_CHECKING

import pytest
from tests.faults.disks import let_files_grow

from steepwell.clock import WallClock, to_ms
from steepwell.sense.inbox import Heard, Inbox
from steepwell.sense.link import Link
from steepwell.sense.moments import Moments
from steepwell.sense.readers import readers
from steepwell.sense.settle import Settler
from steepwell.sense.writer import Writer
from steepwell.standing_by import Presence, last_pulse
from steepwell.store.store import garden_store_url, open_store

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tests.system.conftest import Publisher

    from steepwell.garden.garden import Garden

pytestmark = pytest.mark.mosquitto

WITHIN_S, TICK_S = 30.0, 0.02
SHADE = "quince/shade"


def test_a_writer_that_does_not_come_back_from_a_batch_hangs(garden: Garden) -> None:
    entered, may_go_on = threading.Event(), threading.Event()

    def acknowledge(_: Sequence[Heard]) -> None:
        entered.set()
        assert may_go_on.wait(WITHIN_S)

    inbox = Inbox(10, 1000)
    with open_store(garden_store_url(garden), garden) as store:
        known = readers(garden, store.readings.ids)
        moments = Moments({}, 0, replaying=False)
        writer = Writer(inbox, Settler(garden, store, known, moments, None), acknowledge)
        writer.start()
        assert writer.alive(longest_s=0.0)
        now_ms = to_ms(WallClock().now())
        inbox.put(Heard(SHADE, b"17", 1, False, False, 1, 1, now_ms))  # noqa: FBT003 - a tuple
        assert entered.wait(WITHIN_S)
        assert not writer.alive(longest_s=0.0)
        assert writer.alive()
        may_go_on.set()
        assert writer.wait_settled(1, WITHIN_S)
        assert writer.alive(longest_s=0.0)
        inbox.close()
        writer.finish()
        assert not writer.alive()


def test_who_listens_may_wait_for_room_and_for_nothing_else(
    garden: Garden, publisher: Publisher
) -> None:
    assert garden.broker is not None
    inbox = Inbox(1, 1000)
    link = Link(garden, garden.broker, WallClock(), inbox, [SHADE])
    assert not link.alive()
    link.start()
    assert link.connected.wait(WITHIN_S)
    assert link.alive()
    assert not link.alive(longest_s=0.0)
    publisher.say(SHADE, "17", "18")
    waiter = threading.Event()
    assert any(link.alive(longest_s=0.0) or waiter.wait(TICK_S) for _ in range(1000))
    assert inbox.take()
    assert any(not link.alive(longest_s=0.0) or waiter.wait(TICK_S) for _ in range(1000))
    assert link.alive()
    inbox.close()
    link.stop()
    assert not link.alive()


def test_a_pulse_that_cannot_be_written_ends_nothing(garden: Garden) -> None:
    with Presence(garden) as presence:
        presence.beat({"queue": 1})
        let_files_grow(os.getpid(), 0)
        try:
            presence.beat({"queue": 2})
        finally:
            let_files_grow(os.getpid(), None)
        assert last_pulse(garden) == {"process": os.getpid(), "queue": 1}
