"""How often "shortfall ahead" came before a garden ran dry, and how often nothing came of it.

The rule is held against the outlook model alone, as ``rig`` runs it: full butts on 1 April, a
gardener who waters every bed to its need, the judged year left out of the weather.
"""

from __future__ import annotations

import sys
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from tests.hindcast.rig import followed_by, garden_of_tests, of_year, without_year
from tests.hindcast.tables import MISSED, as_markdown, as_text
from tests.records import fetch

from steepwell.outlook.record import read_record
from steepwell.outlook.seasons import run_seasons, seasons_from
from steepwell.outlook.summary import dry_days
from steepwell.outlook.weather import future_weather
from steepwell.watch.water import AHEAD_D, NEAR_D, falls_short

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

GARDENS = ("middle", "large", "roomy")
# Every third day, so that what is told here comes up to two days late.
ISSUES_D = tuple(range(0, 183, 3))
MEMBERS, QUICK_MEMBERS, QUICK_YEARS = 150, 40, 1
# The marks: dry-outs told so many days ahead, and of what was told, what came within so many.
AHEAD_MARK, TOLD_MARK = 7, 0.85
CAME_WITHIN, CAME_MARK = 28, 0.60
# Days without a dry one between two dry-outs.
APART_D = 14
AT_A_TIME = 2

Days = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Warned:
    """What became of one season: counts.

    Attributes
    ----------
    dry_outs, told
        Times the garden ran dry, and how many of them were told a week ahead.
    raised, came
        Times the notice was raised, and how many of them were followed by a dry day in time.
    """

    dry_outs: int = 0
    told: int = 0
    raised: int = 0
    came: int = 0

    def __add__(self, other: Warned) -> Warned:
        """Return both together."""
        return Warned(
            self.dry_outs + other.dry_outs,
            self.told + other.told,
            self.raised + other.raised,
            self.came + other.came,
        )


def dry_outs(dry: Days) -> list[int]:
    """Return the days on which a garden ran dry that had not been for a fortnight."""
    days: list[int] = np.flatnonzero(dry).tolist()
    return [day for day in days if not dry[max(day - APART_D, 0) : day].any()]


def stands_from(chances: Sequence[tuple[float, float]]) -> list[tuple[int, int]]:
    """Return the issues at which the notice was raised, and at which it was over."""
    spans: list[tuple[int, int]] = []
    since: int | None = None
    for issue, (chance, near) in enumerate(chances):
        stands = falls_short(chance, near, stands=since is not None)
        if stands and since is None:
            since = issue
        elif since is not None and not stands:
            spans.append((since, issue))
            since = None
    return spans if since is None else [*spans, (since, len(chances))]


def warned(dry: Days, chances: Sequence[tuple[float, float]], issues_d: Sequence[int]) -> Warned:
    """Return how a season was foretold.

    Parameters
    ----------
    dry
        Whether the garden was dry at the end of each day.
    chances
        What outlooks gave for a dry day within six weeks, and within ten days [-].
    issues_d
        The days on which they were issued.

    Returns
    -------
    Warned
        Dry-outs that began when nothing could have been told a week before are left out, and so is
        a notice raised while the garden was dry.
    """
    end_d = issues_d[-1] + AHEAD_MARK
    spans = [
        (issues_d[first], issues_d[over] if over < len(issues_d) else end_d)
        for first, over in stands_from(chances)
    ]
    outs = [day for day in dry_outs(dry) if AHEAD_MARK <= day <= end_d]
    told = [day for day in outs if any(a <= day - AHEAD_MARK < b for a, b in spans)]
    raised = [first for first, _ in spans if not dry[max(first - 1, 0)]]
    came = [first for first in raised if dry[first : first + CAME_WITHIN + 1].any()]
    return Warned(len(outs), len(told), len(raised), len(came))


def season_warned(name: str, path: Path, year: int, members: int) -> Warned:
    """Let a garden live through a season, with an outlook every third day.

    Parameters
    ----------
    name
        The garden.
    path
        The daily record.
    year
        The year, of which the outlooks know nothing.
    members
        Size of the ensembles.

    Returns
    -------
    Warned
        How its dry-outs were foretold.
    """
    record, garden = read_record(path), garden_of_tests(name)
    span_d = ISSUES_D[-1] + AHEAD_D + 1
    seasons = seasons_from(garden, record, date(record.first.year, 4, 1), span_d)
    true, known = of_year(seasons, year), without_year(record, year)
    dry = dry_days(garden, run_seasons(garden, seasons.first, true))[:, 0]
    chances = []
    for at in ISSUES_D:
        day = seasons.first + timedelta(days=at)
        ahead = future_weather(garden, known, day, AHEAD_D + 1, members, seed=at)
        run = run_seasons(garden, seasons.first, followed_by(true, at, ahead))
        runs_dry = dry_days(garden, run)[at:]
        chance, near = (
            float(runs_dry[: days + 1].any(axis=0).mean()) for days in (AHEAD_D, NEAR_D)
        )
        chances.append((chance, near))
    return warned(dry, chances, ISSUES_D)


def warnings(*, quick: bool, markdown: bool = False) -> list[tuple[str, str, Warned]]:
    """Judge the notice in every garden by every summer, and print the table.

    Parameters
    ----------
    quick
        The last summer of each record and few members, for a taste.
    markdown
        Whether for a document.

    Returns
    -------
    list of tuple
        Garden, record and what became of all its summers; at last all together.
    """
    rows: list[tuple[str, str, Warned]] = []
    with ProcessPoolExecutor(AT_A_TIME) as pool:
        for name in GARDENS:
            for path in fetch():
                years = _years(path, quick=quick)
                members = QUICK_MEMBERS if quick else MEMBERS
                each = (len(years) * [fixed] for fixed in (name, path))
                counts = pool.map(season_warned, *each, years, len(years) * [members])
                rows.append((name, path.stem.capitalize(), sum(counts, Warned())))
    rows.append(("all", "both", sum((found for _, _, found in rows), Warned())))
    table = as_markdown if markdown else as_text
    sys.stdout.write(table(_heads(), [_row(row, quick=quick) for row in rows]) + "\n")
    return rows


def _years(path: Path, *, quick: bool) -> tuple[int, ...]:
    record = read_record(path)
    span_d = ISSUES_D[-1] + AHEAD_D + 1
    years = seasons_from(
        garden_of_tests(GARDENS[0]), record, date(record.first.year, 4, 1), span_d
    ).years
    return years[-QUICK_YEARS:] if quick else years


def _heads() -> list[str]:
    return [
        "garden",
        "record",
        "dry-outs",
        f"told {AHEAD_MARK} days ahead (at least {TOLD_MARK:.2f})",
        "raised",
        f"dry within {CAME_WITHIN} days (at least {CAME_MARK:.2f})",
    ]


def _row(row: tuple[str, str, Warned], *, quick: bool) -> list[str]:
    name, place, found = row
    return [
        name,
        place,
        f"{found.dry_outs}",
        _share(found.told, found.dry_outs, TOLD_MARK, quick=quick),
        f"{found.raised}",
        _share(found.came, found.raised, CAME_MARK, quick=quick),
    ]


def _share(part: int, whole: int, mark: float, *, quick: bool) -> str:
    if not whole:
        return "none"
    return f"{part / whole:.2f}{MISSED if part / whole < mark and not quick else ''}"
