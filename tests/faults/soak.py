"""Thirty simulated days of twenty sensors a minute: whether anything grows that should not."""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from statistics import fmean
from typing import IO, TYPE_CHECKING

import paho.mqtt.client as mqtt
from paho.mqtt.enums import CallbackAPIVersion
from tests.bench.figures import core_s, environment, memory_mb
from tests.bench.garden import garden_in, garden_text, message
from tests.records import fetch
from tests.servers import mosquitto

from steepwell.clock import ReplayClock, to_ms
from steepwell.store.store import garden_store_url, open_store

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.garden.garden import Garden

START = datetime(2031, 5, 1, tzinfo=UTC)
DAYS, QUICK_DAYS = 30, 3
HOUR, MINUTE = timedelta(hours=1), timedelta(minutes=1)
HOURS_A_DAY = 24
# Working out the weeks ahead is another process, and takes longer than all the rest.
OUTLOOK_EVERY_D = 5
MINUTE_MS = 60_000
# What grows in the first days is caches that fill; so many days at either end are compared.
WARM_DAYS, COMPARED_DAYS = 5, 3
PATIENCE_S = 120.0
MOST_GROWTH_MB, MOST_BYTES_A_READING, MOST_OFF = 3.0, 32.0, 0.1
DAEMON = "--daemon"


@dataclass(frozen=True, slots=True)
class Evening:
    """What the daemon's process has at the end of a day, and what the store takes."""

    memory_mb: float
    files: int
    threads: int
    store_bytes: int
    a_year: int


def look_after(file: Path) -> None:
    """Be the daemon: wait for what was sent, do what is due, and say so, a line for a line."""
    from steepwell.app import Daemon  # noqa: PLC0415 - the other process does without it

    garden = garden_in(file.parent, file.read_text(encoding="utf-8"))
    clock = ReplayClock(START)
    daemon = Daemon(
        garden, clock, mail_folder=file.parent / "mail", outlook_every_days=OUTLOOK_EVERY_D
    )
    daemon.start()
    assert daemon.wait_connected(PATIENCE_S)
    _say("connected")
    for line in sys.stdin:
        asked = json.loads(line)
        clock.set(datetime.fromisoformat(asked["now"]))
        if "settled" in asked:
            assert daemon.wait_settled(asked["settled"], PATIENCE_S)
            daemon.run_due()
        _say("done")
    daemon.stop()


def _say(word: str) -> None:
    print(word, flush=True)  # noqa: T201 - to the process that asked


class Soak:
    """A daemon in a process of its own, and what speaks to it."""

    def __init__(self, folder: Path, port: int) -> None:
        text = garden_text(butts=8, vessels=10, port=port, record=fetch()[0], with_sensors=True)
        self._garden: Garden = garden_in(folder, text)
        self._folder = folder
        self._sent = 0
        self._client = mqtt.Client(CallbackAPIVersion.VERSION2, client_id="soak")
        self._client.max_inflight_messages_set(400)
        self._client.connect("127.0.0.1", port)
        self._client.loop_start()
        self._process = subprocess.Popen(
            [sys.executable, "-m", "tests.faults.soak", DAEMON, folder / "garden.toml"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            env=environment(),
        )
        self._heard()

    def close(self) -> None:
        """End it in order."""
        _pipe(self._process.stdin).close()
        self._process.wait(PATIENCE_S)
        self._client.disconnect()
        self._client.loop_stop()

    def day(self, number: int, looks: int = HOURS_A_DAY) -> Evening:
        """Live through a day, do so often what is due, and look at what there is in the evening."""
        step = HOURS_A_DAY * HOUR / looks
        for look in range(looks):
            begin = START + timedelta(days=number) + look * step
            end = begin + step
            self._ask({"now": end.isoformat()})
            self._speak(to_ms(begin), minutes=round(step / MINUTE))
            self._ask({"now": end.isoformat(), "settled": self._sent})
        return self._evening(START + timedelta(days=number + 1))

    def core_s(self) -> float:
        """Return how long the daemon and its workers have had a core so far [s]."""
        return core_s(self._process.pid, children=True)

    def _speak(self, begin_ms: int, *, minutes: int) -> None:
        said = []
        for minute in range(minutes):
            for index in range(len(self._garden.sensor)):
                at_ms = begin_ms + minute * MINUTE_MS + index * 997
                topic, payload = message(self._garden, index, at_ms, at_ms // MINUTE_MS)
                said.append(self._client.publish(topic, payload, qos=1))
        for one in said:
            one.wait_for_publish(PATIENCE_S)
        self._sent += len(said)

    def _evening(self, now: datetime) -> Evening:
        place = Path(f"/proc/{self._process.pid}")
        with open_store(garden_store_url(self._garden), self._garden, read_only=True) as store:
            size = store.size(self._folder / "steepwell.db", now)
        return Evening(
            memory_mb(self._process.pid, "VmRSS"),
            len(list((place / "fd").iterdir())),
            len(list((place / "task").iterdir())),
            (self._folder / "steepwell.db").stat().st_size,
            size.a_year,
        )

    def readings(self) -> int:
        """Return how many readings the store has."""
        return self._sent

    def _ask(self, what: dict[str, object]) -> None:
        to = _pipe(self._process.stdin)
        to.write(json.dumps(what) + "\n")
        to.flush()
        self._heard()

    def _heard(self) -> None:
        if not _pipe(self._process.stdout).readline():
            sys.exit(f"the daemon ended with {self._process.wait()}")


def _pipe(end: IO[str] | None) -> IO[str]:
    assert end is not None
    return end


def verdicts(
    evenings: Sequence[Evening], readings: int, seconds: float
) -> list[tuple[str, str, str, bool]]:
    """Return what was measured, the mark, and whether it is met."""
    warm = min(WARM_DAYS, len(evenings) // 3)
    early, late = evenings[warm:][:COMPARED_DAYS], evenings[-COMPARED_DAYS:]
    growth = fmean(e.memory_mb for e in late) - fmean(e.memory_mb for e in early)
    files = max(e.files for e in late) - max(e.files for e in early)
    threads = max(e.threads for e in late) - max(e.threads for e in early)
    first, last = evenings[warm], evenings[-1]
    predicted = first.store_bytes + first.a_year * (len(evenings) - 1 - warm) / 365
    off = last.store_bytes / predicted - 1
    each = last.store_bytes / readings
    return [
        ("readings, days, time", f"{readings:,}, {len(evenings)}, {seconds:.0f} s", "", True),
        (
            "memory after the first days, and at the end",
            f"{fmean(e.memory_mb for e in early):.1f} MB, {growth:+.1f} MB",
            f"growth under {MOST_GROWTH_MB:g} MB",
            growth < MOST_GROWTH_MB,
        ),
        ("open files", f"{last.files}, {files:+d}", "no growth", files <= 0),
        ("threads", f"{last.threads}, {threads:+d}", "no growth", threads <= 0),
        (
            "store, bytes a reading with all else in it",
            f"{last.store_bytes / 1e6:.1f} MB, {each:.1f}",
            f"at most {MOST_BYTES_A_READING:g}",
            each <= MOST_BYTES_A_READING,
        ),
        (
            f"store against what was predicted on day {warm + 1}",
            f"{100 * off:+.1f} %",
            f"within {100 * MOST_OFF:.0f} %",
            abs(off) <= MOST_OFF,
        ),
    ]


def main() -> int:
    """Run it and print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help=f"{QUICK_DAYS} days")
    parser.add_argument(DAEMON, type=Path, metavar="FILE", help="be the daemon of this garden")
    options = parser.parse_args()
    if options.daemon is not None:
        look_after(options.daemon)
        return 0
    began = time.perf_counter()
    with (
        tempfile.TemporaryDirectory() as name,
        mosquitto(Path(name), quiet=True) as broker,
    ):
        soak = Soak(Path(name), broker.port)
        evenings = []
        for day in range(QUICK_DAYS if options.quick else DAYS):
            evenings.append(soak.day(day))
            print(f"day {day + 1}: {evenings[-1]}", file=sys.stderr, flush=True)  # noqa: T201 - progress
        soak.close()
        rows = verdicts(evenings, soak.readings(), time.perf_counter() - began)
    print("| what | seen | mark | met |\n|---|---|---|---|")  # noqa: T201 - the report
    for what, seen, mark, met in rows:
        print(f"| {what} | {seen} | {mark} | {'yes' if met else 'no'} |")  # noqa: T201 - the same
    return 0 if all(met for *_, met in rows) else 1


if __name__ == "__main__":
    sys.exit(main())
