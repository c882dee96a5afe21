"""A daemon whose clock begins in 1970: it hears, waits with its work, and sorts out what came."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from tests.clocks import ShedClock

from steepwell.app import Daemon
from steepwell.store.store import garden_store_url, open_store

if TYPE_CHECKING:
    from tests.system.conftest import Publisher

    from steepwell.garden.garden import Garden

pytestmark = pytest.mark.mosquitto

WITHIN_S = 30.0
QUARTER = timedelta(minutes=15)
BEGINS = datetime(1970, 1, 1, 0, 1, tzinfo=UTC)
TRUE = datetime(2031, 6, 20, 12, 0, tzinfo=UTC)
OWN_TIME = datetime(2031, 6, 20, 11, 20, tzinfo=UTC)


def test_what_came_before_the_clock_was_set_gets_its_time(
    garden: Garden, publisher: Publisher
) -> None:
    clock = ShedClock(BEGINS)
    daemon = Daemon(garden, clock)
    daemon.start()
    assert daemon.wait_connected(WITHIN_S)
    for count, celsius in enumerate(("14.5", "15.0"), start=1):
        publisher.say("quince/shade", celsius)
        assert daemon.wait_settled(count, WITHIN_S)
        clock.passes(QUARTER)
    # Another device knows the time itself.
    record = '[{"n": "urn:dev:ow:28ff01:leek", "t": %d, "v": 17.25}]'
    publisher.say("quince/leek", record % OWN_TIME.timestamp())
    assert daemon.wait_settled(3, WITHIN_S)
    assert daemon.run_due() == []

    clock.shows = TRUE
    daemon.glance()
    assert {"outlook", "watch"} <= {done.job for done in daemon.run_due()}
    daemon.stop()
    with open_store(garden_store_url(garden), garden, read_only=True) as store:
        at = {
            moment: store.readings.latest(moment)["shade"].value
            for moment in (TRUE - 2 * QUARTER, TRUE - QUARTER, TRUE)
        }
        assert at == {TRUE - 2 * QUARTER: 14.5, TRUE - QUARTER: 15.0, TRUE: 15.0}
        assert "leek-probe" not in store.readings.latest(OWN_TIME - QUARTER)
        assert store.readings.latest(OWN_TIME)["leek-probe"].value == 17.25
        assert store.ledger.last("first-run") == TRUE
