"""Feeds begun on the last advised day, in vessels with a physics of their own: ready in time?"""

from __future__ import annotations

import sys
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from tests.hindcast.rig import without_year
from tests.hindcast.tables import as_markdown, as_text
from tests.hindcast.vessels import PLACES, Place, place, ready_after_d

from steepwell.decide.lead import last_day

if TYPE_CHECKING:
    from collections.abc import Iterator

MONTHS, DAYS = range(4, 11), (1, 15)
# A steep is begun in the morning and its feed is wanted in a morning.
AT_H = 10
SEEDS, QUICK_SEEDS, EVERY_FIFTH = (1, 2, 3), (1,), 5
MARK = (0.85, 0.95)
HEADS = [
    "feeds wanted",
    "begun",
    "weeks before, middle",
    "ready in time (0.85 to 0.95)",
    "of those late, days late, middle",
]


class Advised(NamedTuple):
    """When a feed is wanted, and the last day to begin it that the other years advise."""

    vessel: int
    wanted: date
    last: date


class Came(NamedTuple):
    """What became of one that was begun on its last day.

    Attributes
    ----------
    month
        Of the day on which it was wanted.
    lead_d
        How long before it was begun [d].
    spare_d
        How long before that day it was ready, less than nothing for one that was late [d].
    """

    month: int
    lead_d: int
    spare_d: float


def advice(at: Place, *, quick: bool) -> Iterator[Advised]:
    """Yield the last days for needs of all years and vessels, the judged year left out."""
    for year in range(at.record.first.year, at.record.first.year + at.record.years):
        if quick and year % EVERY_FIFTH:
            continue
        known = without_year(at.record, year)
        for vessel, declared in enumerate(at.garden.vessel):
            for wanted in (date(year, month, day) for month in MONTHS for day in DAYS):
                last = last_day(at.garden, known, declared, wanted)
                if last is not None and last > at.record.first:
                    yield Advised(vessel, wanted, last)


def came(at: Place, one: Advised) -> Came:
    """Return what became in truth of a steep that was begun on its last day."""
    started = datetime(one.last.year, one.last.month, one.last.day, AT_H, tzinfo=UTC)
    lead_d = (one.wanted - one.last).days
    return Came(one.wanted.month, lead_d, lead_d - ready_after_d(at, one.vessel, started))


def row(name: str, judged: list[Came], *, marked: bool) -> list[str]:
    """Return a row of the table; a missed mark is told where there is one."""
    spare_d = np.array([each.spare_d for each in judged])
    late_d = -spare_d[spare_d < 0]
    share = float(np.mean(spare_d >= 0))
    missed = "" if MARK[0] <= share <= MARK[1] or not marked else " (missed)"
    return [
        name,
        f"{len(judged)}",
        f"{np.median([each.lead_d for each in judged]) / 7:.1f}",
        f"{share:.3f}{missed}",
        f"{np.median(late_d):.1f}" if late_d.size else "",
    ]


def starts(*, quick: bool, markdown: bool = False) -> None:
    """Print how many feeds begun on the last advised day were ready when they were wanted.

    Parameters
    ----------
    quick
        Only every fifth year, and one garden of vessels.
    markdown
        Whether for a document.
    """
    rows = []
    for name in PLACES:
        advised = list(advice(place(name), quick=quick))
        judged = [
            came(place(name, seed), one)
            for seed in (QUICK_SEEDS if quick else SEEDS)
            for one in advised
        ]
        for month in MONTHS:
            of_month = [each for each in judged if each.month == month]
            rows.append(row(f"{name}, {date(2000, month, 1):%B}", of_month, marked=not quick))
        rows.append(row(f"{name}, all", judged, marked=not quick))
    table = as_markdown if markdown else as_text
    sys.stdout.write(f"{table(HEADS, rows)}\n")


if __name__ == "__main__":
    starts(quick="--quick" in sys.argv)
