"""The judging of what is told, and a taste of it."""

from __future__ import annotations

import random
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING

import pytest
from tests.faults.detection import (
    GARDENS,
    JUDGED_ON,
    ROOT,
    SETTLED_ON,
    YEARS,
    Case,
    Judged,
    cases,
    missed,
    table,
)
from tests.faults.forks import Outcome, leak
from tests.faults.garden_year import GardenYear

from steepwell.clock import to_ms
from steepwell.watch.kinds import DOWNPIPE, LEAK

if TYPE_CHECKING:
    from pathlib import Path

DAY = date(1990, 6, 1)


def judged(told: str, *, kind: str = LEAK, false: int = 0) -> Judged:
    """Return a garden-year with a fault for each letter, told in time (+) or not (-)."""
    outcomes = [
        Outcome(kind, "north", DAY, each == "+", 3 if each == "+" else None, ()) for each in told
    ]
    return Judged(Case("small", "brussels", 1990), outcomes, ["leak/north 1990-06-01"] * false)


def test_figures_are_never_judged_on_the_years_they_were_settled_on() -> None:
    settled, judging = cases(YEARS, SETTLED_ON), cases(YEARS, JUDGED_ON)
    assert len(judging) == len({(case.garden, case.record, case.year) for case in judging}) == YEARS
    assert {case.garden for case in judging} == set(GARDENS)
    assert {case.record for case in judging} == {"brussels", "cambridge"}
    assert not {case.year for case in settled} & {case.year for case in judging}


@pytest.mark.parametrize(
    ("found", "expected"),
    [
        ([judged("+++++++++-")], []),
        ([judged("++++++++--")], ["leak is told too seldom"]),
        ([judged("+", false=1)], []),
        ([judged("+", false=2), judged("+")], []),
        ([judged("+", false=2)], ["too much is told of sound gardens"]),
        ([judged("-", kind=DOWNPIPE)], ["downpipe-blocked is told too seldom"]),
    ],
)
def test_marks(found: list[Judged], expected: list[str]) -> None:
    assert missed(found) == expected


def test_the_table_has_a_line_a_fault() -> None:
    lines = table([judged("++-", false=1)]).splitlines()
    assert "| leak | 2 of 3 | 3, 3 | 90% |" in lines
    assert "| downpipe-blocked | 0 of 0 | never | 90% |" in lines
    assert lines[-1].startswith("| nothing broken | 1.00 notices a year (leak 1) |")


def test_a_taste_of_a_garden(brussels_csv: Path) -> None:
    """A fortnight of a sound garden says nothing and doubts nothing; in a fork a leak is told."""
    file = ROOT / "config" / "gardens" / "small.toml"
    begin, end = date(1987, 5, 20), date(1987, 6, 20)
    with GardenYear.begin(file, brussels_csv, begin, end, seed=1) as year:
        for _ in range(10):
            year.live_a_day()
        with year.fork() as broken:
            outcome = leak(broken, random.Random(1))  # noqa: S311 - a simulation
        for _ in range(4):
            year.live_a_day()
        told = [event for event in year.told if event.kind == LEAK]
        doubted = year.store.judged.doubted(0, to_ms(datetime(1987, 7, 1, tzinfo=UTC)))
    assert (outcome.found, told, doubted) == (True, [], {})
