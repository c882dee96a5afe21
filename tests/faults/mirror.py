"""A day of twenty sensors a minute goes to servers with faults: what is kept, what they have."""

from __future__ import annotations

import argparse
import sys
import tempfile
from contextlib import ExitStack
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tests.gardens import AIR, make_garden, put_readings, vessel_probe
from tests.mirrors import FaultyServer, victoria_metrics, victoria_metrics_binary
from tests.servers import free_port

from steepwell.clock import to_ms
from steepwell.mirror.flush import flush
from steepwell.mirroring import keep_account
from steepwell.store.mirror import SETTLES
from steepwell.store.store import garden_store_url, open_store

if TYPE_CHECKING:
    from collections.abc import Callable

    from steepwell.store.store import Store

VESSELS = [f"v{number}" for number in range(19)]
BEGIN = datetime(2025, 6, 18, tzinfo=UTC)
HOUR, MINUTE = timedelta(hours=1), timedelta(minutes=1)
BAD = "temperature_c=13.5"
# Faults of the server in each hour's flush.
EVERY_HOUR: dict[str, list[int | str | None]] = {
    "503": [503],
    "429": [429],
    "413": [413, 413],
    "401 until noon": [401],
    "hangs until three": ["hang"],
    "drops the connection": ["drop"],
    "takes all, then drops the connection": ["deafen"],
    "a bad line in each sensor's hour": [],
}


@dataclass(frozen=True, slots=True)
class Day:
    """What a day came to: hours it lasted, readings kept, in the mirror, and lines refused."""

    hours: int
    kept: int
    mirrored: int
    refused: int


def one_day(
    url: str,
    begin_hour: Callable[[int], None],
    count: Callable[[], int],
    *,
    per_hour: int,
) -> Day:
    """Live a day and the hours until all is sent; the last sensor's comes when the day is over."""
    sensors = [AIR, *(vessel_probe(vessel) for vessel in VESSELS)]
    vessels = [{"name": vessel, "volume": "60 L"} for vessel in VESSELS]
    mirror = {"url": url, "organisation": "plum", "bucket": "garden"}
    with tempfile.TemporaryDirectory() as folder:
        garden = make_garden(Path(folder), sensor=sensors, vessel=vessels, mirror=mirror)
        names = [sensor.name for sensor in garden.sensor]
        with open_store(garden_store_url(garden), garden) as store:
            for hour in range(48):
                now = BEGIN + (hour + 1) * HOUR + SETTLES
                if hour < 24:
                    for name in names[:-1]:
                        put(store, name, BEGIN + hour * HOUR, per_hour)
                elif hour == 24:
                    for late in range(24):
                        put(store, names[-1], BEGIN + late * HOUR, per_hour)
                begin_hour(hour)
                store.mirror.hand_over(now)
                answer = flush(garden, store, now)
                with store.transaction():
                    done = keep_account(store, answer, now)
                if done and hour >= 24:
                    break
            kept = sum(
                len(series)
                for series in store.judged.series(names, 0, to_ms(BEGIN + 48 * HOUR)).values()
            )
            return Day(hour + 1, kept, count(), store.mirror.refused_count())


def put(store: Store, name: str, begin: datetime, count: int) -> None:
    """Store readings of an hour, the first of them one that a server may dislike."""
    moments = [begin + n * HOUR / count for n in range(count)]
    put_readings(store, name, {m: 13.5 if m == begin else 14.0 for m in moments})


def with_faults(name: str, per_hour: int) -> tuple[Day, int]:
    """Return the day, and how many readings the mirror has to have."""
    server = FaultyServer()
    if name.startswith("a bad line"):
        server.refuses = lambda line: BAD in line

    def begin_hour(hour: int) -> None:
        faults = EVERY_HOUR[name]
        ends = 12 if "noon" in name else 3 if "three" in name else 24
        server.faults = list(faults) if hour < ends else []

    try:
        day = one_day(
            server.url, begin_hour, lambda: len(server.measured("reading")), per_hour=per_hour
        )
    finally:
        server.close()
    return day, day.kept - day.refused


def away(per_hour: int) -> tuple[Day, int]:
    """Let a server be away for the whole day."""
    port = free_port()
    with ExitStack() as stack:
        found: list[FaultyServer] = []

        def begin_hour(hour: int) -> None:
            if hour == 24:
                found.append(FaultyServer(port))
                stack.callback(found[0].close)

        url = f"http://127.0.0.1:{port}"
        day = one_day(url, begin_hour, lambda: len(found[0].measured("reading")), per_hour=per_hour)
    return day, day.kept


def victoria_metrics_away(per_hour: int) -> tuple[Day, int]:
    """Let VictoriaMetrics be away for the whole day."""
    port = free_port()
    with ExitStack() as stack:
        folder = stack.enter_context(tempfile.TemporaryDirectory())
        found: list[Any] = []

        def begin_hour(hour: int) -> None:
            if hour == 24:
                found.append(stack.enter_context(victoria_metrics(Path(folder), port)))

        def count() -> int:
            series = found[0].stored("reading_temperature_c", 0, to_ms(BEGIN + 48 * HOUR))
            return sum(len(one["values"]) for one in series)

        day = one_day(f"http://127.0.0.1:{port}", begin_hour, count, per_hour=per_hour)
    return day, day.kept


def main() -> int:
    """Print the table; return 1 if a server lacks a reading or has one too many."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help="a reading every five minutes")
    per_hour = 12 if parser.parse_args().quick else 60
    rows: dict[str, Callable[[], tuple[Day, int]]] = {"away": lambda: away(per_hour)}
    if victoria_metrics_binary() is not None:
        rows["VictoriaMetrics, away"] = lambda: victoria_metrics_away(per_hour)
    for name in EVERY_HOUR:
        rows[name] = lambda name=name: with_faults(name, per_hour)  # type: ignore[misc]
    print("| the server, for a day | all sent after | kept | refused | in the mirror | |")  # noqa: T201 - the table
    print("|---|---:|---:|---:|---:|---|")  # noqa: T201 - the table
    missed = 0
    for name, live in rows.items():
        day, wanted = live()
        fits = day.mirrored == wanted
        missed += not fits
        print(  # noqa: T201 - the table
            f"| {name} | {day.hours} h | {day.kept:,} | {day.refused:,} | {day.mirrored:,} "
            f"| {'equal' if fits else f'wanted {wanted:,}'} |",
            flush=True,
        )
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())
