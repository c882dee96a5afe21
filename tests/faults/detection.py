"""How soon what is broken is told, and how often something is told that is not."""

from __future__ import annotations

import argparse
import random
import subprocess
import sys
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from tests.faults.forks import (
    Outcome,
    blocked_downpipe,
    blocked_gauge,
    creeping_level,
    drifting_probe,
    leak,
)
from tests.faults.garden_year import GardenYear

from steepwell.watch.kinds import DOWNPIPE, DRAW_OFF, DRIFT, GAUGE, LEAK

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

ROOT = Path(__file__).parents[2]
GARDENS = ("small", "middle", "large", "roomy")
YEARS = 30
# Figures are settled on the odd years of the records; the even ones judge.
SETTLED_ON, JUDGED_ON = 1, 0
# The same kind of notice, of another kind of probe.
LEVEL_DRIFT = f"{DRIFT}, of a level"
FOUND_IN, FALSE_A_YEAR = 0.9, 1.0
FAULTS: dict[str, Callable[[GardenYear, random.Random], Outcome]] = {
    LEAK: leak,
    DOWNPIPE: blocked_downpipe,
    GAUGE: blocked_gauge,
    DRIFT: drifting_probe,
    LEVEL_DRIFT: creeping_level,
}
# A fault of water begins on some day on which there is rain, and something to lose.
BEGINS_FROM, BEGINS_TO = (4, 10), (9, 10)


@dataclass(frozen=True)
class Case:
    """One garden-year: a garden, a year of a record, and the seed of what is not declared."""

    garden: str
    record: str
    year: int

    @property
    def seed(self) -> int:
        """Of the true garden and its noise."""
        return self.year * len(GARDENS) + GARDENS.index(self.garden)


@dataclass
class Judged:
    """What came of one garden-year.

    Attributes
    ----------
    outcomes
        One a fault.
    false
        Notices told while nothing was broken.
    guessed, guessed_rightly
        Draw-offs that were guessed, and how many of them were made.
    """

    case: Case
    outcomes: list[Outcome] = field(default_factory=list)
    false: list[str] = field(default_factory=list)


def cases(years: int, parity: int) -> list[Case]:
    """Return garden-years, gardens and records in turn."""
    odd_or_even = [
        *(("brussels", year) for year in range(1977, 2006)),
        *(("cambridge", year) for year in range(1992, 2021)),
    ]
    of_parity = [each for each in odd_or_even if each[1] % 2 == parity]
    random.Random(f"order {parity}").shuffle(of_parity)  # noqa: S311 - no secret
    some = (of_parity * 2)[:years]
    return [
        Case(GARDENS[at % len(GARDENS)], record, year) for at, (record, year) in enumerate(some)
    ]


def judge(case: Case, record: Path) -> Judged:
    """Live a healthy year, and in forks of it each fault once."""
    rng = random.Random(f"faults {case}")  # noqa: S311 - a simulation
    first, last = date(case.year, 1, 2), date(case.year, 12, 30)
    begins = {kind: _some_day(rng, case.year) for kind in FAULTS}
    judged = Judged(case)
    file = ROOT / "config" / "gardens" / f"{case.garden}.toml"
    with GardenYear.begin(file, record, first, last, seed=case.seed) as year:
        while year.living.day <= last:
            for kind, begun in begins.items():
                if begun == year.living.day:
                    with year.fork() as broken:
                        judged.outcomes.append(FAULTS[kind](broken, rng))
            for event in year.live_a_day():
                if event.event == "raised" and not _is_true(year, event.kind, event.figures):
                    judged.false.append(f"{event.id} {event.at:%Y-%m-%d}")
    return judged


def _some_day(rng: random.Random, year: int) -> date:
    begin, end = date(year, *BEGINS_FROM), date(year, *BEGINS_TO)
    return begin + timedelta(days=rng.randrange((end - begin).days))


def _is_true(year: GardenYear, kind: str, figures: dict[str, object]) -> bool:
    """Return whether a watering that nobody noted was made."""
    days = figures.get("days")
    return (
        kind == DRAW_OFF
        and isinstance(days, list)
        and all(date.fromisoformat(day) in year.drawn_on for day in days)
    )


def table(found: Sequence[Judged]) -> str:
    """Return the marks as a table in Markdown."""
    lines = ["| fault | told in time | after days (middle, longest) | mark |", "|---|---|---|---|"]
    for kind in FAULTS:
        outcomes = [each for one in found for each in one.outcomes if each.kind == kind]
        told = sorted(each.days or 0 for each in outcomes if each.found)
        mark = f"{FOUND_IN:.0%}" if kind in {LEAK, DOWNPIPE} else "none"
        when = f"{told[len(told) // 2]}, {told[-1]}" if told else "never"
        lines.append(f"| {kind} | {len(told)} of {len(outcomes)} | {when} | {mark} |")
    false = Counter(each.split("/")[0] for one in found for each in one.false)
    said = ", ".join(f"{kind} {count}" for kind, count in false.most_common()) or "none"
    a_year = false.total() / max(len(found), 1)
    lines.append(f"| nothing broken | {a_year:.2f} notices a year ({said}) | | {FALSE_A_YEAR:g} |")
    return "\n".join(lines)


def missed(found: Sequence[Judged]) -> list[str]:
    """Return the marks that are missed."""
    wrong = []
    for kind in (LEAK, DOWNPIPE):
        outcomes = [each for one in found for each in one.outcomes if each.kind == kind]
        if sum(each.found for each in outcomes) < FOUND_IN * len(outcomes):
            wrong.append(f"{kind} is told too seldom")
    if sum(len(one.false) for one in found) > FALSE_A_YEAR * len(found):
        wrong.append("too much is told of sound gardens")
    return wrong


def records() -> dict[str, Path]:
    """Return the open weather records."""
    done = subprocess.run(
        [sys.executable, ROOT / "tests" / "records.py"], check=True, capture_output=True, text=True
    )
    return {Path(line).stem: Path(line) for line in done.stdout.splitlines()}


def main() -> int:
    """Judge, and print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help="two garden-years")
    parser.add_argument("--settle", action="store_true", help="the years figures are settled on")
    parser.add_argument("--years", type=int, default=YEARS, help="garden-years")
    parser.add_argument("--verbose", action="store_true", help="each outcome too")
    parser.add_argument("--jobs", type=int, default=1, help="processes")
    options = parser.parse_args()
    parity = SETTLED_ON if options.settle else JUDGED_ON
    chosen = cases(2 if options.quick else options.years, parity)
    paths = records()
    with ProcessPoolExecutor(options.jobs) as pool:
        found = []
        for one in pool.map(judge, chosen, [paths[case.record] for case in chosen]):
            found.append(one)
            if options.verbose:
                print(one.case, *one.outcomes, *one.false, sep="\n    ", flush=True)  # noqa: T201 - the report
    print(table(found))  # noqa: T201 - the table
    wrong = missed(found)
    for each in wrong:
        print(f"missed: {each}")  # noqa: T201 - the table
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
