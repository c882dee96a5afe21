"""A daemon in a process of its own under a stream of messages, and an account of every message."""

from __future__ import annotations

import queue
import re
import signal
import sqlite3
import subprocess
import sys
import threading
from collections import Counter
from contextlib import closing, suppress
from dataclasses import dataclass
from time import monotonic
from typing import TYPE_CHECKING

import paho.mqtt.client as mqtt
from paho.mqtt.enums import CallbackAPIVersion, MQTTProtocolVersion
from tests.faults.faults_table import NotSeenError
from tests.system.conftest import GARDEN

from steepwell.clock import WallClock

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from tests.servers import Mosquitto

AT_ONCE, EVERY_S = 10, 0.01
# A device tells of the day before yesterday: readings of more than 400 days ago are not kept.
FIRST_S = round(WallClock().now().timestamp()) - 2 * 86_400
TICK_S = 0.05
WITHIN_S = 180.0
# Longer than the daemon waits at most before it tries the broker again.
NO_MORE_S = 60.0
TIMED, BARE = "leek-probe", "shade"
# The broker keeps 60,000 messages, and an absence of 30 s is 30,000 of them; the stream is held
# back before that.
FAR_BEHIND, NEAR = 20_000, 5_000


class Stream:
    """Publishes 1,000 messages a second: one half with a time of their own, one half without.

    The value of each is its number in thousandths of a degree, so that none is like another. A
    message that the broker had not confirmed when the connection broke is not sent again: nobody
    can tell then whether it has it.

    Attributes
    ----------
    sent
        How many were sent.
    accepted_s
        When the broker confirmed a message, by its number (monotonic clock) [s].
    breaks
        How often the connection broke.
    """

    def __init__(self, port: int, login: tuple[str, str] | None = None) -> None:
        self._port = port
        self._login = login
        self._ending, self._held, self._broken = (threading.Event() for _ in range(3))
        self._acks: queue.SimpleQueue[tuple[int, float]] = queue.SimpleQueue()
        self._numbers: dict[int, int] = {}
        self._thread = threading.Thread(target=self._run)
        self.sent = 0
        self.accepted_s: dict[int, float] = {}
        self.breaks = 0

    def start(self) -> None:
        """Begin."""
        self._thread.start()

    def hold(self) -> None:
        """Send nothing until ``resume``."""
        self._held.set()

    def resume(self) -> None:
        """Go on."""
        self._held.clear()

    def finish(self) -> None:
        """Stop, and wait until the broker has confirmed all of it."""
        self._ending.set()
        self._thread.join()

    def _run(self) -> None:
        while not self._ending.is_set():
            client = self._connected()
            if client is None:
                continue
            self._speak(client)
            client.disconnect()
            client.loop_stop()
            self._numbers.clear()
            self.breaks += self._broken.is_set()

    def _connected(self) -> mqtt.Client | None:
        client = mqtt.Client(
            CallbackAPIVersion.VERSION2,
            protocol=MQTTProtocolVersion.MQTTv5,
            reconnect_on_failure=False,
        )
        client.max_inflight_messages_set(200)
        if self._login is not None:
            client.username_pw_set(*self._login)
        client.on_publish = lambda *said: self._acks.put((said[2], monotonic()))
        client.on_disconnect = lambda *_: self._broken.set()
        self._broken.clear()
        try:
            client.connect("127.0.0.1", self._port)
        except OSError:
            self._ending.wait(TICK_S)
            return None
        client.loop_start()
        return client

    def _speak(self, client: mqtt.Client) -> None:
        while not self._ending.wait(EVERY_S) and not self._broken.is_set():
            for _ in range(0 if self._held.is_set() else AT_ONCE):
                topic, payload = message(self.sent)
                self._numbers[client.publish(topic, payload, qos=1).mid] = self.sent
                self.sent += 1
            self._confirm()
        patience = monotonic() + WITHIN_S
        while self._numbers and not self._broken.wait(TICK_S) and monotonic() < patience:
            self._confirm()
        self._confirm()

    def _confirm(self) -> None:
        with suppress(queue.Empty):
            while True:
                packet_id, at_s = self._acks.get_nowait()
                number = self._numbers.pop(packet_id, None)
                if number is not None:
                    self.accepted_s[number] = at_s


def message(number: int) -> tuple[str, str]:
    """Return topic and payload of a message."""
    value = f"{number / 1000:.3f}"
    if number % 2:
        return "quince/shade", value
    time_s = f"{FIRST_S + number / 1000:.3f}"
    return "quince/leek", f'[{{"n":"urn:dev:ow:28ff01:leek","t":{time_s},"v":{value}}}]'


@dataclass(frozen=True, slots=True)
class Account:
    """What became of the messages of a stream.

    Attributes
    ----------
    accepted, unsure
        How many the broker confirmed, and how many nobody knows of, for the connection broke.
    lost
        Numbers of those it confirmed that are not stored.
    doubled, refused
        How many are stored more than once, and how many messages were refused.
    in_order
        Whether those timed by their arrival are in the order in which they were sent.
    """

    accepted: int
    unsure: int
    lost: tuple[int, ...]
    doubled: int
    refused: int
    in_order: bool

    @property
    def is_whole(self) -> bool:
        """Whether each is there, once, in its order."""
        return not self.lost and not self.doubled and not self.refused and self.in_order

    def __str__(self) -> str:
        told = f"{self.accepted:,} messages, {len(self.lost):,} lost, {self.doubled:,} doubled"
        told += f", {self.refused:,} refused" if self.refused else ""
        return told if self.in_order else f"{told}, not in order"


class Rig:
    """A daemon with a garden of its own, the stream to it, and what it says.

    Parameters
    ----------
    folder
        Where garden file, store and log go.
    broker
        The broker that the stream speaks to.
    port
        Where the daemon finds it, if not there itself.
    store
        Folder of the store, if not the garden's.
    keys
        More that stands under ``[broker]``.
    stream
        What speaks to the broker, if not on its usual port and without a password.
    """

    def __init__(
        self,
        folder: Path,
        broker: Mosquitto,
        *,
        port: int | None = None,
        store: Path | None = None,
        keys: str = "",
        stream: Stream | None = None,
    ) -> None:
        self.folder = folder
        self.store = (store or folder) / "steepwell.db"
        self.garden_file = folder / "garden.toml"
        text = GARDEN.format(port=port or broker.port, protocol="5")
        text = text.replace('protocol = "5"', f'protocol = "5"\n{keys}')
        text = f'{text}\n[store]\nurl = "sqlite:///{self.store}"\n'
        self.garden_file.write_text(text, encoding="utf-8")
        self._said = folder / "said.txt"
        self.stream = stream or Stream(broker.port)
        self.process: subprocess.Popen[bytes] | None = None
        self.held_back = 0
        self._broker = broker

    def start(self, *, wait: bool = True) -> subprocess.Popen[bytes]:
        """Start the daemon, and wait until it hears."""
        command = [sys.executable, "-m", "steepwell.cli", "run", str(self.garden_file)]
        before = self.said().count("connected to the broker")
        with self._said.open("ab") as said:
            self.process = subprocess.Popen(command, stdout=said, stderr=said)
        if wait:
            await_that(
                lambda: self.said().count("connected to the broker") > before,
                f"the daemon hears nothing: {self.said()[-500:]}",
            )
        return self.process

    def end(self, how: signal.Signals = signal.SIGKILL) -> None:
        """End the daemon, orderly or not."""
        process, self.process = self.process, None
        if process is not None:
            process.send_signal(how)
            process.wait(60)

    def said(self) -> str:
        """Return what the daemon said."""
        if not self._said.exists():
            return ""
        return self._said.read_text(encoding="utf-8", errors="replace")

    def await_said(self, words: str, count: int = 1) -> None:
        """Wait until the daemon has said something so often."""
        await_that(
            lambda: len(re.findall(words, self.said())) >= count,
            f"the daemon does not say {words!r}: {self.said()[-500:]}",
        )

    def ask(self, question: str, *values: object) -> list[tuple[int, ...]]:
        """Ask the store something; nothing comes back before there is one."""
        if not self.store.exists():
            return []
        address = f"file:{self.store}?mode=ro"
        with closing(sqlite3.connect(address, uri=True, timeout=30)) as connection:
            try:
                return list(connection.execute(question, values))
            except sqlite3.OperationalError:
                return []

    def behind(self) -> int:
        """Return how far the store is behind the stream [messages]."""
        question = "SELECT coalesce(max(newest_ms), 0) FROM sensor WHERE name = ?"
        rows = self.ask(question, TIMED)
        newest_ms = rows[0][0] if rows else 0
        return self.stream.sent - max(newest_ms - FIRST_S * 1000, 0)

    def await_hearing(self) -> None:
        """Wait until what the broker takes now arrives; of many connections not each is said."""
        sent = self.stream.sent
        await_that(lambda: self.stream.sent > sent, "the stream finds no broker")
        await_that(lambda: self.behind() < NEAR, f"the daemon hears nothing: {self.said()[-500:]}")

    def spare_the_broker(self) -> None:
        """Hold the stream back while there is more waiting than the broker keeps."""
        if self.behind() < FAR_BEHIND:
            return
        self.held_back += 1
        self.stream.hold()
        await_that(lambda: self.behind() < NEAR, "the daemon does not catch up")
        self.stream.resume()

    def broker_dropped(self) -> bool:
        """Return whether the broker said that it dropped messages, for it keeps no more."""
        return "are being dropped" in self._broker.log()

    def numbers(self, sensor: str) -> list[int]:
        """Return the numbers a sensor's readings carry, in the order of their times."""
        question = (
            "SELECT CAST(round(value * 1000) AS INTEGER) FROM reading JOIN sensor "
            "ON reading.sensor = sensor.id WHERE sensor.name = ? ORDER BY time_ms"
        )
        return [row[0] for row in self.ask(question, sensor)]

    def settle(self) -> Account:
        """Stop the stream, wait until no more comes, and account for every message."""
        self.stream.finish()
        last = monotonic()
        account = self.account()
        while account.lost and monotonic() - last < NO_MORE_S:
            waiter.wait(1.0)
            account, before = self.account(), account
            if len(account.lost) != len(before.lost):
                last = monotonic()
        return account

    def account(self) -> Account:
        """Account for every message of the stream."""
        bare = self.numbers(BARE)
        counted = Counter(self.numbers(TIMED)) + Counter(bare)
        stream = self.stream
        return Account(
            accepted=len(stream.accepted_s),
            unsure=stream.sent - len(stream.accepted_s),
            lost=tuple(number for number in stream.accepted_s if number not in counted),
            doubled=sum(count - 1 for count in counted.values()),
            refused=sum(row[0] for row in self.ask("SELECT count(*) FROM refused")),
            in_order=bare == sorted(bare),
        )


waiter = threading.Event()


def await_that(true: Callable[[], bool], lacking: str, within_s: float = WITHIN_S) -> None:
    """Wait for what tells nobody that it has come about."""
    patience = monotonic() + within_s
    while not true():
        if monotonic() > patience:
            raise NotSeenError(lacking)
        waiter.wait(TICK_S)
