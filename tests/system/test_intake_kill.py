"""The daemon is killed over and over while messages come in; each is stored exactly once."""

from __future__ import annotations

import random
import subprocess
import sys
import threading
from typing import TYPE_CHECKING

import pytest

from steepwell.store.store import garden_store_url, open_store

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from tests.servers import Mosquitto
    from tests.system.conftest import Listener, Publisher

    from steepwell.garden.garden import Garden
    from steepwell.store.store import Store

pytestmark = pytest.mark.mosquitto

KILLS = 20
# It takes a second or two to start: some kills strike while it starts, most while it hears.
SHORTEST_S, LONGEST_S = 0.3, 5.0
STRUCK_WHILE_HEARING = 5
AT_ONCE, EVERY_S = 10, 0.01
SETTLES_WITHIN_S = 120.0
FIRST_S = 1_760_000_000
ALIVE = "steepwell/quince-yard/alive"


class Stream:
    """Publishes 1,000 messages a second: one half with a time of their own, one half without.

    The value of each is its number in thousandths of a degree, so that none is like another.
    """

    def __init__(self, publisher: Publisher) -> None:
        self._publisher = publisher
        self._ending = threading.Event()
        self._thread = threading.Thread(target=self._run)
        self.sent = 0

    def start(self) -> None:
        self._thread.start()

    def finish(self) -> None:
        """Stop, and wait until the broker has all of it."""
        self._ending.set()
        self._thread.join()

    def _run(self) -> None:
        last = None
        while not self._ending.wait(EVERY_S):
            for _ in range(AT_ONCE):
                last = self._publisher.send(*self._message(self.sent))
                self.sent += 1
        assert last is not None
        last.wait_for_publish(SETTLES_WITHIN_S)

    @staticmethod
    def _message(number: int) -> tuple[str, str]:
        value = f"{number / 1000:.3f}"
        if number % 2:
            return "quince/shade", value
        time_s = f"{FIRST_S + number / 1000:.3f}"
        return "quince/leek", f'[{{"n":"urn:dev:ow:28ff01:leek","t":{time_s},"v":{value}}}]'


def start(garden_file: Path) -> subprocess.Popen[bytes]:
    command = [sys.executable, "-m", "steepwell.cli", "run", str(garden_file)]
    return subprocess.Popen(command, stderr=subprocess.DEVNULL)


def end(process: subprocess.Popen[bytes]) -> None:
    process.kill()
    process.wait()


def numbers(store: Store, sensor: str) -> list[int]:
    """Return the numbers a sensor's readings carry, in the order of their times."""
    question = "SELECT round(value * 1000) FROM reading WHERE sensor = ? ORDER BY time_ms"
    with store._database.reading() as connection:
        rows = connection.exec_driver_sql(question, (store.readings.ids[sensor],))
        return [int(number) for (number,) in rows]


def test_each_message_is_stored_exactly_once(
    garden_file: Path,
    garden: Garden,
    broker: Mosquitto,
    publisher: Publisher,
    listen: Callable[[str], Listener],
) -> None:
    draw = random.Random(7)  # noqa: S311 - a seeded draw, no secret
    # The first connection makes the session in which messages wait.
    first = start(garden_file)
    listen(ALIVE).wait_for(ALIVE, b'{"schema": 1, "alive": true}')
    stream = Stream(publisher)
    stream.start()
    moment = threading.Event()
    process = first
    for _ in range(KILLS):
        moment.wait(draw.uniform(SHORTEST_S, LONGEST_S))
        end(process)
        process = start(garden_file)
    stream.finish()
    with open_store(garden_store_url(garden), garden) as store:
        for _ in range(round(SETTLES_WITHIN_S)):
            if len(numbers(store, "leek-probe")) + len(numbers(store, "shade")) >= stream.sent:
                break
            moment.wait(1.0)
        end(process)
        assert stream.sent > 1000 * KILLS
        assert broker.log().count("as steepwell-quince-yard") > STRUCK_WHILE_HEARING
        assert numbers(store, "leek-probe") == list(range(0, stream.sent, 2))
        # Those timed by their arrival are in the order they were sent, too.
        assert numbers(store, "shade") == list(range(1, stream.sent, 2))
        assert store.refused.newest(1) == []
