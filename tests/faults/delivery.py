"""The process is killed between any two steps of telling: is a notice lost, or told twice?

A garden's day of notices and a letter is lived through over and over, each time with the process
killed at another statement of the store or of the network, and then begun again. A real mail server
keeps what comes. What it took just before the process was killed comes again, under the same
Message-ID, by which mail programs know it for one; so Message-IDs are counted, not copies.
"""

from __future__ import annotations

import argparse
import random
import shutil
import subprocess
import sys
import tempfile
from collections import defaultdict
from contextlib import contextmanager
from dataclasses import dataclass, field
from email import message_from_bytes
from pathlib import Path
from typing import TYPE_CHECKING

from tests.faults.delivery_day import HEADLINES, PEOPLE, garden_of
from tests.receivers import MailKept, mail_server

from steepwell.store.store import garden_store_url, open_store

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

ROOT = Path(__file__).parents[2]
POINTS, QUICK_POINTS = 500, 12
# What the server does with the first mails, by turns.
BREAKS: tuple[tuple[str | None, ...], ...] = (
    (),
    ("451",),
    (None, "after"),
    ("before", "after", "451"),
)


class Lives:
    """A process that lives a day in a child of its own each time, and has it killed where told."""

    def __init__(self, port: int) -> None:
        command = [sys.executable, "-m", "tests.faults.delivery_day", str(port)]
        self._process = subprocess.Popen(
            command, cwd=ROOT, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
        )

    def live(self, folder: Path, point: int) -> int | None:
        """Live what is left of a day; return how many points it had, None if it was killed."""
        if self._process.stdin is None or self._process.stdout is None:
            raise RuntimeError("the process has no pipes")
        self._process.stdin.write(f"{point} {folder}\n")
        self._process.stdin.flush()
        answer = self._process.stdout.readline().split()
        if not answer or answer[0] not in {"killed", "lived"}:
            raise RuntimeError(f"a day ended in {answer}")
        return None if answer[0] == "killed" else int(answer[1])

    def close(self) -> None:
        """End the process."""
        if self._process.stdin is not None:
            self._process.stdin.close()
        self._process.wait(timeout=30)
        if self._process.stdout is not None:
            self._process.stdout.close()


@dataclass
class Tally:
    """What came of all the days: points tried, notices lost and told twice, copies of one mail."""

    points: int = 0
    killed_again: int = 0
    mails: int = 0
    copies: int = 0
    lost: list[str] = field(default_factory=list)
    doubled: list[str] = field(default_factory=list)

    def add(self, where: str, kept: MailKept) -> None:
        """Look through what the server kept of one day."""
        ids: dict[tuple[str, str], set[str]] = defaultdict(set)
        seen: set[tuple[str, str]] = set()
        for to, raw in kept.mails:
            mail = message_from_bytes(raw)
            said = f"{mail['Subject']}\n{mail.get_payload()}"
            self.mails += 1
            self.copies += (to, mail["Message-ID"]) in seen
            seen.add((to, mail["Message-ID"]))
            for headline in HEADLINES:
                if headline in said:
                    ids[to, headline].add(mail["Message-ID"])
        for person in PEOPLE:
            for headline in HEADLINES:
                count = len(ids[f"{person}@example.org", headline])
                if count == 0:
                    self.lost.append(f"{where}: {headline} for {person}")
                elif count > 1:
                    self.doubled.append(f"{where}: {headline} for {person}")


def campaign(points: int, turns: Sequence[tuple[str | None, ...]] = BREAKS) -> Tally:
    """Kill a day at so many points, spread over days in which the server fails in four ways.

    Parameters
    ----------
    points
        How many [-].
    turns
        How the server fails.

    Returns
    -------
    Tally
        What came of it.
    """
    tally, kept, rng = Tally(), MailKept(), random.Random(1)  # noqa: S311 - no secrets
    with mail_server(kept) as port, _new_days(port) as new_day:
        lives = Lives(port)
        try:
            for breaks, point in _points(lives, kept, points, turns, new_day):
                folder = new_day()
                kept.mails, kept.breaks = [], list(breaks)
                lives.live(folder, point)
                # In every third the power fails again while it is made good.
                if tally.points % 3 == 0:
                    again = lives.live(folder, 1 + rng.randrange(60))
                    tally.killed_again += again is None
                lives.live(folder, 0)
                tally.points += 1
                tally.add(f"server {breaks}, point {point}", kept)
        finally:
            lives.close()
    return tally


@contextmanager
def _new_days(port: int) -> Iterator[Callable[[], Path]]:
    """Hand out folders with a store in which nothing has happened yet."""
    with tempfile.TemporaryDirectory() as folder:
        fresh, day = Path(folder) / "fresh", Path(folder) / "day"
        fresh.mkdir()
        garden = garden_of(fresh, port)
        open_store(garden_store_url(garden), garden).close()

        def new_day() -> Path:
            shutil.rmtree(day, ignore_errors=True)
            return Path(shutil.copytree(fresh, day))

        yield new_day


def _points(
    lives: Lives,
    kept: MailKept,
    count: int,
    turns: Sequence[tuple[str | None, ...]],
    new_day: Callable[[], Path],
) -> Iterator[tuple[tuple[str | None, ...], int]]:
    """Yield how the server fails and where the process is killed, evenly over each day."""
    each = -(-count // len(turns))
    for turn, breaks in enumerate(turns):
        kept.mails, kept.breaks = [], list(breaks)
        there = lives.live(new_day(), 0)
        if there is None:
            raise RuntimeError("a day that nobody ends was killed")
        here = min(each, count - turn * each)
        for number in range(here):
            yield breaks, 1 + number * there // here


def main() -> int:
    """Print what came of it; return 1 if a notice was lost or told twice."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help=f"{QUICK_POINTS} points")
    tally = campaign(QUICK_POINTS if parser.parse_args().quick else POINTS)
    print("| points | killed again | mails | copies under one Message-ID | lost | told twice |")  # noqa: T201 - the table
    print("|---:|---:|---:|---:|---:|---:|")  # noqa: T201 - the table
    print(  # noqa: T201 - the table
        f"| {tally.points} | {tally.killed_again} | {tally.mails:,} | {tally.copies} "
        f"| {len(tally.lost)} | {len(tally.doubled)} |"
    )
    for what in [*tally.lost, *tally.doubled]:
        print(what)  # noqa: T201 - what to look into
    return 1 if tally.lost or tally.doubled else 0


if __name__ == "__main__":
    sys.exit(main())
