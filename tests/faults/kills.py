"""Kills the daemon and its broker under load, and takes its disk away: what is lost, what doubled.

Run ``python -m tests.faults.kills [--quick]``.
"""

from __future__ import annotations

import argparse
import random
import signal
import subprocess
import sys
from contextlib import ExitStack, contextmanager
from time import monotonic
from typing import TYPE_CHECKING

from tests.faults.acknowledged import Acknowledged
from tests.faults.disks import (
    SYNCS,
    WRITES,
    fill,
    let_files_grow,
    remount,
    small_disk,
    system_calls,
)
from tests.faults.faults_table import Fault, NotHereError, Seen, print_faults
from tests.faults.proxy import Proxy
from tests.faults.under_load import AT_ONCE, Rig, await_that, waiter
from tests.servers import mosquitto, mosquitto_binary

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping
    from pathlib import Path

    from tests.servers import Mosquitto

# It takes a second or two to start: some kills strike while it starts, most while it hears.
SHORTEST_S, LONGEST_S = 0.3, 4.5
AWAY_S = (3.0, 30.0)
APART_S = 15.0
# The daemon waits longer and longer for a broker that leaves it within ten seconds.
STEADY_S = (5.0, 15.0)
# The broker writes down every five seconds what waits, and is not always on the second.
SAVES_EVERY_S = 5.0 + 2.0
# What the broker had still said before its end is read a little after it.
READS_WITHIN_S = 0.2
MEGABYTES = 24
PAGE_BYTES = 4096
TROUBLE, MENDED = "cannot be read or written", "can be written again"


@contextmanager
def broker_in(folder: Path, settings: Mapping[str, str] | None = None) -> Iterator[Mosquitto]:
    """Run a broker that keeps its files in a folder of its own."""
    if mosquitto_binary() is None:
        raise NotHereError("Mosquitto is not installed")
    place = folder / "broker"
    place.mkdir()
    with mosquitto(place, settings, quiet=True) as broker:
        yield broker


@contextmanager
def rig_in(folder: Path, *, store: Path | None = None) -> Iterator[Rig]:
    """Run broker, daemon and stream."""
    with broker_in(folder) as broker:
        rig = Rig(folder, broker, store=store)
        rig.start()
        rig.stream.start()
        try:
            yield rig
        finally:
            rig.stream.finish()
            rig.end()


def daemon_killed(folder: Path, kills: int, absences: int) -> Seen:
    """Kill the daemon over and over, and now and then leave it dead for a while."""
    draw = random.Random(7)  # noqa: S311 - a seeded draw, no secret
    away = set(draw.sample(range(kills), absences))
    with rig_in(folder) as rig:
        began = monotonic()
        for number in range(kills):
            waiter.wait(draw.uniform(SHORTEST_S, LONGEST_S))
            rig.end()
            if number in away:
                waiter.wait(draw.uniform(*AWAY_S))
            # Now and then one is sure to strike while it hears.
            rig.start(wait=number % 10 == 0)
            rig.spare_the_broker()
        took_s = monotonic() - began
        heard = rig.said().count("connected to the broker")
        account = rig.settle()
        held = f", held back {rig.held_back} times" if rig.held_back else ""
        held += ", and the broker dropped what it does not keep" if rig.broker_dropped() else ""
        words = (
            f"{kills} kills, {heard - 1} of them while it heard, {absences} absences: {account} "
            f"({rig.stream.sent / took_s:,.0f} messages a second{held})"
        )
    return Seen(words, account.is_whole)


def broker_restarted(folder: Path, times: int) -> Seen:
    """Restart the broker in order, over and over."""
    draw = random.Random(11)  # noqa: S311 - a seeded draw, no secret
    with broker_in(folder) as broker:
        rig = Rig(folder, broker)
        rig.start()
        rig.stream.start()
        try:
            for _ in range(times):
                waiter.wait(draw.uniform(*STEADY_S))
                broker.stop()
                broker.start()
                rig.await_hearing()
            account = rig.settle()
        finally:
            rig.stream.finish()
            rig.end()
    return Seen(f"{times} restarts: {account}; {account.unsure:,} under way", account.is_whole)


def broker_killed(folder: Path, times: int) -> Seen:
    """Kill the broker, every other time while messages wait in it for the daemon."""
    killed_s: list[float] = []
    with broker_in(folder) as broker:
        witness = Acknowledged()
        proxy = Proxy(broker.port, witness)
        rig = Rig(folder, broker, port=proxy.port)
        rig.start()
        rig.stream.start()
        try:
            for number in range(times):
                waiter.wait(APART_S)
                if number % 2:
                    rig.end(signal.SIGTERM)
                    waiter.wait(SAVES_EVERY_S)
                broker.stop(signal.SIGKILL)
                killed_s.append(monotonic() + READS_WITHIN_S)
                broker.start()
                if number % 2:
                    rig.start()
                rig.await_hearing()
            account = rig.settle()
        finally:
            rig.stream.finish()
            rig.end()
            proxy.close()
    accepted_s = rig.stream.accepted_s
    before_s = [
        min(killed - accepted_s[number] for killed in killed_s if killed >= accepted_s[number])
        for number in account.lost
        if any(killed >= accepted_s[number] for killed in killed_s)
    ]
    ours = witness.numbers & set(account.lost)
    oldest_s = max(before_s, default=0.0)
    words = (
        f"{times} kills, {account.accepted:,} messages accepted: the broker lost "
        f"{len(account.lost) - len(ours):,}, the oldest of them accepted {oldest_s:.1f} s before; "
        f"the daemon lost {len(ours):,} of {len(witness.numbers):,} it had acknowledged; "
        f"{account.doubled:,} doubled"
    )
    is_expected = (
        not ours
        and not account.doubled
        and len(before_s) == len(account.lost)
        and oldest_s <= SAVES_EVERY_S
    )
    return Seen(words, is_expected)


def _away_and_back(
    rig: Rig, take_away: Callable[[], object], give_back: Callable[[], object]
) -> Seen:
    """Take the disk away under load, wait until that is said, give it back."""
    waiter.wait(2.0)
    take_away()
    rig.await_said(TROUBLE)
    stopped_at = rig.behind()
    waiter.wait(5.0)
    waited = rig.behind() - stopped_at
    give_back()
    rig.await_said(MENDED)
    account = rig.settle()
    words = f"said so; {waited:,} more waited in 5 s; said when it was over; {account}"
    return Seen(_with_traces(rig, words), account.is_whole and waited > 0 and not _traces(rig))


def _traces(rig: Rig) -> int:
    return rig.said().count("Traceback")


def _with_traces(rig: Rig, words: str) -> str:
    return f"{words}; {_traces(rig)} tracebacks in the log" if _traces(rig) else words


def disk_full(folder: Path) -> Seen:
    """Fill the disk of the store while readings come, then make room again."""
    with small_disk(folder, MEGABYTES) as place, rig_in(folder, store=place) as rig:
        ballast = place / "ballast"
        return _away_and_back(rig, lambda: fill(ballast, 200_000), ballast.unlink)


def files_limited(folder: Path) -> Seen:
    """Let no file grow beyond what it is, as a quota does."""
    with rig_in(folder) as rig:
        assert rig.process is not None
        process = rig.process.pid
        return _away_and_back(
            rig,
            lambda: let_files_grow(process, 100_000),
            lambda: let_files_grow(process, None),
        )


def turned_read_only(folder: Path) -> Seen:
    """Let every write to the store fail as on a file system that has become read-only."""
    broken = [f"{one}:error=EROFS" for one in (*WRITES, *SYNCS)]
    with rig_in(folder) as rig, ExitStack() as stack:
        assert rig.process is not None
        calls = system_calls(rig.process.pid, *broken)
        return _away_and_back(rig, lambda: stack.enter_context(calls), stack.close)


def read_only_at_the_start(folder: Path) -> Seen:
    """Start the daemon where its store cannot be written."""
    with small_disk(folder, MEGABYTES) as place, broker_in(folder) as broker:
        rig = Rig(folder, broker, store=place)
        rig.start()
        rig.end(signal.SIGTERM)
        remount(place, "ro")
        before = rig.said()
        process = rig.start(wait=False)
        code = process.wait(30)
        said = rig.said()[len(before) :].strip()
        remount(place, "rw")
        rig.start()
        rig.end(signal.SIGTERM)
    sentence = said.splitlines()[-1] if said else "nothing"
    words = f"ended with {code} and one sentence: “{sentence[:90]} …”; starts when it can write"
    return Seen(words, code == 1 and len(said.splitlines()) == 1 and "store" in said)


def slow_disk(folder: Path, seconds: float) -> Seen:
    """Let every wait for the disk take half a second longer."""
    slow = [f"{one}:delay_enter=500000" for one in SYNCS]
    with rig_in(folder) as rig:
        assert rig.process is not None
        with system_calls(rig.process.pid, *slow):
            furthest, ends = 0, monotonic() + seconds
            while monotonic() < ends:
                waiter.wait(0.5)
                furthest = max(furthest, rig.behind())
        await_that(lambda: rig.behind() < furthest + 1, "the daemon does not catch up")
        account = rig.settle()
        words = f"at most {furthest:,} messages behind; {account}"
        return Seen(_with_traces(rig, words), account.is_whole and not _traces(rig))


def pages_overwritten(folder: Path) -> Seen:
    """Overwrite pages of the store while nobody runs, and lose its log; there is one backup."""
    draw = random.Random(3)  # noqa: S311 - a seeded draw, no secret
    with rig_in(folder) as rig:
        waiter.wait(3.0)
        backup = [sys.executable, "-m", "steepwell.cli", "backup", str(rig.garden_file)]
        known = rig.stream.sent - rig.behind()
        subprocess.run(backup, check=True, capture_output=True)
        waiter.wait(3.0)
        rig.end()
        rig.store.with_name(f"{rig.store.name}-wal").unlink(missing_ok=True)
        with rig.store.open("r+b") as file:
            for place in range(2 * PAGE_BYTES, rig.store.stat().st_size, 2 * PAGE_BYTES):
                file.seek(place + 100)
                file.write(draw.randbytes(600))
        last = rig.stream.sent
        rig.start()
        account = rig.settle()
        is_told = "backup" in rig.said()
        aside = len(list(folder.glob("steepwell.db.damaged-*")))
    between = all(known - AT_ONCE <= number < last for number in account.lost)
    words = (
        f"went on from the backup{', and said so' if is_told else ''}; {aside} damaged file kept "
        f"aside; {len(account.lost):,} of {account.accepted:,} messages lost with it, all between "
        f"backup and damage; {account.doubled} doubled"
    )
    return Seen(words, is_told and aside == 1 and between and not account.doubled)


def faults(*, quick: bool) -> list[Fault]:
    """Return the rows, fewer kills of them when it has to be quick."""
    kills, absences, restarts, broker_kills = (10, 1, 3, 2) if quick else (200, 10, 20, 4)
    whole = "none lost, none doubled"
    waits = "nothing acknowledged, said once; messages wait with the broker; then all is stored"
    return [
        Fault("daemon killed", whole, lambda folder: daemon_killed(folder, kills, absences)),
        Fault("broker restarted", whole, lambda folder: broker_restarted(folder, restarts)),
        Fault(
            "broker killed",
            "the broker loses what it took since it last saved (5 s); the daemon nothing",
            lambda folder: broker_killed(folder, broker_kills),
        ),
        Fault("disk full (a small file system)", waits, disk_full),
        Fault("files may not grow (a quota)", waits, files_limited),
        Fault("file system turns read-only", waits, turned_read_only),
        Fault(
            "file system read-only at the start",
            "ends with 1 and says what to do",
            read_only_at_the_start,
        ),
        Fault(
            "slow disk (half a second a sync)",
            f"{whole}; it falls behind at most",
            lambda folder: slow_disk(folder, 5 if quick else 30),
        ),
        Fault(
            "pages of the store overwritten",
            "the last good backup takes its place, what is damaged is kept aside; told",
            pages_overwritten,
        ),
    ]


def main() -> int:
    """Print the table; return 1 if a row came out otherwise."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help="ten kills, not two hundred")
    parser.add_argument("--only", metavar="WORDS", default="", help="rows with these words")
    options = parser.parse_args()
    rows = [one for one in faults(quick=options.quick) if options.only in one.what]
    return 1 if print_faults(rows) else 0


if __name__ == "__main__":
    sys.exit(main())
