"""A running daemon in a process of its own, with its broker, its store and what speaks to it."""

from __future__ import annotations

import sqlite3
import subprocess
import threading
import time
from contextlib import closing, contextmanager
from http import HTTPStatus
from http.client import HTTPConnection
from typing import TYPE_CHECKING

import paho.mqtt.client as mqtt
from paho.mqtt.enums import CallbackAPIVersion
from tests.bench.figures import ROOT, UnmeasuredError, environment, installed
from tests.bench.garden import garden_in, garden_text, message
from tests.records import fetch
from tests.servers import free_port, mosquitto, mosquitto_binary

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from tests.servers import Mosquitto

    from steepwell.garden.garden import Garden

MINUTE_S = 60.0
PATIENCE_S = 120.0
POLL_S = 0.005


class Bench:
    """A garden of 20 sensors in a folder, its broker, and a client that speaks as its sensors."""

    def __init__(self, folder: Path, broker: Mosquitto) -> None:
        self._page = free_port()
        text = garden_text(
            butts=8,
            vessels=10,
            port=broker.port,
            page=self._page,
            record=fetch()[0],
            with_sensors=True,
        )
        self._garden: Garden = garden_in(folder, text)
        self._folder = folder
        self._store = folder / "steepwell.db"
        self._waker = threading.Event()
        self._step = 0
        self._client = mqtt.Client(CallbackAPIVersion.VERSION2, client_id="bench-sensors")
        self._client.connect("127.0.0.1", broker.port)
        self._client.loop_start()

    def close(self) -> None:
        """Hang up."""
        self._client.disconnect()
        self._client.loop_stop()

    @contextmanager
    def daemon(self, *python_options: str) -> Iterator[subprocess.Popen[bytes]]:
        """Run the daemon for the length of a block; what it says goes to ``said.txt``."""
        command = [installed("python"), *python_options, installed("steepwell"), "run"]
        with (self._folder / "said.txt").open("wb") as said:
            process = subprocess.Popen(
                [*command, str(self._folder / "garden.toml")],
                stdout=subprocess.DEVNULL,
                stderr=said,
                cwd=ROOT,
                env=environment(),
            )
            try:
                yield process
            finally:
                process.terminate()
                process.wait(30)

    def said(self) -> str:
        """Return what the last daemon said."""
        return (self._folder / "said.txt").read_text(encoding="utf-8")

    def speak(self, index: int, *, retain: bool = False) -> None:
        """Let one sensor speak."""
        self._step += 1
        topic, payload = message(self._garden, index, time.time_ns() // 1_000_000, self._step)
        self._client.publish(topic, payload, qos=1, retain=retain).wait_for_publish(10)

    def speak_for(self, seconds: float) -> None:
        """Let every sensor speak once a minute, one after the other."""
        sensors = len(self._garden.sensor)
        began = time.perf_counter()
        for number in range(round(seconds / MINUTE_S * sensors)):
            self.speak(number % sensors)
            self._wait_until(began + (number + 1) * MINUTE_S / sensors)

    def look(self) -> tuple[float, int]:
        """Look at the page; return when its first byte came [ms] and how many bytes there are."""
        connection = HTTPConnection("127.0.0.1", self._page, timeout=PATIENCE_S)
        began = time.perf_counter()
        connection.request("GET", "/")
        answer = connection.getresponse()
        passed_ms = 1000 * (time.perf_counter() - began)
        size = len(answer.read())
        connection.close()
        if answer.status != HTTPStatus.OK:
            raise UnmeasuredError(f"the page answers {answer.status}")
        return passed_ms, size

    def await_rows(self, table: str, more_than: int = 0) -> int:
        """Wait until a table of the store has more rows than that, and return how many."""
        deadline = time.perf_counter() + PATIENCE_S
        while (rows := self.rows(table)) <= more_than:
            if time.perf_counter() > deadline:
                raise UnmeasuredError(f"the daemon does nothing: {self.said()[-500:]}")
            self._waker.wait(POLL_S)
        return rows

    def rows(self, table: str) -> int:
        """Return how many rows a table of the store has; none before there is a store."""
        if not self._store.exists():
            return 0
        with closing(sqlite3.connect(f"file:{self._store}?mode=ro", uri=True)) as connection:
            try:
                question = f"SELECT count(*) FROM {table}"  # noqa: S608 - our own names
                return int(connection.execute(question).fetchone()[0])
            except sqlite3.OperationalError:
                return 0

    def _wait_until(self, moment: float) -> None:
        self._waker.wait(max(moment - time.perf_counter(), 0.0))


@contextmanager
def bench_in(folder: Path) -> Iterator[Bench]:
    """Run a broker, and a client that speaks as the sensors."""
    if mosquitto_binary() is None:
        raise UnmeasuredError("Mosquitto is not installed")
    with mosquitto(folder, quiet=True) as broker:
        bench = Bench(folder, broker)
        try:
            yield bench
        finally:
            bench.close()
