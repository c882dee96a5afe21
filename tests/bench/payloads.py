"""Measures the way from payload bytes to the commit without a broker, and what a reading takes."""

from __future__ import annotations

import json
import sys
import tempfile
import threading
import time
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

from tests.bench.figures import Figure, Scale, child
from tests.bench.garden import garden_in, garden_text, message

from steepwell.sense.inbox import Heard, Inbox
from steepwell.sense.intake import WAITING_BYTES, WAITING_MESSAGES
from steepwell.sense.moments import Moments
from steepwell.sense.readers import readers
from steepwell.sense.settle import Settler
from steepwell.sense.writer import Writer
from steepwell.store.sqlite import sqlite_engine, store_file
from steepwell.store.store import garden_store_url, open_store

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from steepwell.garden.garden import Garden

ALL = 2_100_000
PART = 210_000
MOST_S = 40.0
MOST_BYTES = 32.0
FIRST_MS = 1_780_000_000_123
MINUTE_MS = 60_000
PACKET_IDENTIFIERS = 65_535


def measure(scale: Scale) -> list[Figure]:
    """Return the time for all readings, and the bytes that one of them takes."""
    count = ALL if scale.full else PART
    found = [child("tests.bench.payloads", count) for _ in range(scale.runs)]
    seconds = tuple(run["seconds"] * ALL / count for run in found)
    sizes = tuple(run["bytes"] for run in found)
    cpu_s = min(run["cpu_seconds"] for run in found) * ALL / count
    note = f"no broker; {cpu_s:.1f} s of a core"
    if not scale.full:
        note = f"{ALL // count} x the time for {count:,}; {note}"
    return [
        Figure("2.1 million readings, payload to commit", "s", seconds, most=MOST_S, note=note),
        Figure(
            "a reading in the store file",
            "bytes",
            sizes,
            most=MOST_BYTES,
            note=f"{count:,} with flag, 1 in 50 with a reason, after a checkpoint",
        ),
    ]


def messages(garden: Garden, count: int) -> Iterator[Heard]:
    """Yield what some sensors say every minute, each at a millisecond of its own."""
    sensors = len(garden.sensor)
    for number in range(count):
        step, index = divmod(number, sensors)
        time_ms = FIRST_MS + step * MINUTE_MS + index * 997
        topic, payload = message(garden, index, time_ms, step)
        packet_id = number % PACKET_IDENTIFIERS + 1
        yield Heard(
            topic,
            payload,
            packet_id,
            again=False,
            retained=False,
            connection=1,
            session=1,
            arrival_ms=time_ms + 40,
        )


def settle(garden: Garden, said: Sequence[Heard]) -> tuple[float, float]:
    """Have messages written as the daemon does, and return how long that and a core took [s]."""
    acknowledged = 0
    done = threading.Event()

    def acknowledge(settled: Sequence[Heard]) -> None:
        nonlocal acknowledged
        acknowledged += len(settled)
        if acknowledged == len(said):
            done.set()

    with open_store(garden_store_url(garden), garden) as store:
        by_topic = readers(garden, store.readings.ids)
        moments = Moments({}, 0, replaying=False)
        inbox = Inbox(WAITING_MESSAGES, WAITING_BYTES)
        writer = Writer(inbox, Settler(garden, store, by_topic, moments, None), acknowledge)
        start, start_cpu = time.perf_counter(), time.process_time()
        writer.start()
        for one in said:
            inbox.put(one)
        done.wait()
        took = time.perf_counter() - start, time.process_time() - start_cpu
        inbox.close()
        writer.finish()
    return took


def main() -> None:
    """Write as many readings as are asked for, and measure the file."""
    with tempfile.TemporaryDirectory() as folder:
        text = garden_text(butts=8, vessels=10, with_sensors=True)
        garden = garden_in(Path(folder), text)
        said = list(messages(garden, int(sys.argv[1])))
        seconds, cpu_seconds = settle(garden, said)
        file = store_file(garden_store_url(garden))
        engine = sqlite_engine(file, read_only=False)
        with closing(engine.raw_connection()) as connection:
            connection.cursor().execute("PRAGMA wal_checkpoint(TRUNCATE)")
            held = connection.cursor().execute("SELECT count(*) FROM reading").fetchone()[0]
        engine.dispose()
        if held != len(said):
            raise AssertionError(f"{held} readings of {len(said)} are in the store")
        size = file.stat().st_size / held
        found = {"seconds": seconds, "cpu_seconds": cpu_seconds, "bytes": size}
        sys.stdout.write(json.dumps(found))


if __name__ == "__main__":
    main()
