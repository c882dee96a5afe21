"""The tables of a campaign: for a terminal, or in Markdown."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.hindcast.marks import (
    CENTRAL_MARK,
    CLIMATE_MARK,
    DRY_MARK,
    LEVEL_MARK,
    RELIABILITY_MARK,
    Dry,
    Lead,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

MISSED = " (missed)"

Rows = list[list[str]]


def lead_rows(place: str, judged: Sequence[Lead], *, quick: bool) -> Rows:
    """Return a row for each lead; a missed mark is told, but for a taste of few years."""
    low, high = CENTRAL_MARK
    return [
        [
            place,
            f"{lead.days} d",
            f"{lead.crps_l:.0f} L",
            _told(lead.over_level, missed=lead.over_level < level_mark and not quick),
            _told(lead.over_climate, missed=lead.over_climate < climate_mark and not quick),
            _told(lead.central, missed=not (low <= lead.central <= high or quick)),
            " ".join(f"{count}" for count in lead.bars),
        ]
        for lead, level_mark, climate_mark in zip(judged, LEVEL_MARK, CLIMATE_MARK, strict=True)
    ]


def _told(value: float, *, missed: bool, digits: int = 2) -> str:
    return f"{value:.{digits}f}{MISSED if missed else ''}"


def lead_heads() -> list[str]:
    """Return the heads of these columns."""
    low, high = CENTRAL_MARK
    level = f"{LEVEL_MARK[0]:.2f}"
    climate = ", ".join(f"{mark:.2f}" for mark in CLIMATE_MARK)
    return [
        "record",
        "lead",
        "CRPS",
        f"skill over today's level (at least {level})",
        f"skill over climate (at least {climate})",
        f"ranks in the central 80 % ({low:.2f} to {high:.2f})",
        "ranks by tenths",
    ]


def dry_rows(place: str, judged: Dry, *, quick: bool) -> Rows:
    """Return the row of the chances of a dry day, as for stored litres."""
    terms = judged.brier
    unreliable = terms.reliability > RELIABILITY_MARK
    return [
        [
            place,
            f"{judged.came:.2f}",
            f"{terms.score:.3f}",
            _told(judged.over_climate, missed=judged.over_climate < DRY_MARK and not quick),
            _told(terms.reliability, missed=unreliable and not quick, digits=4),
            f"{terms.resolution:.3f}",
            f"{terms.uncertainty:.3f}",
        ]
    ]


def dry_heads() -> list[str]:
    """Return the heads of these columns."""
    return [
        "record",
        "came",
        "Brier score",
        f"skill over climate (at least {DRY_MARK:.2f})",
        f"reliability (at most {RELIABILITY_MARK:.2f})",
        "resolution",
        "uncertainty",
    ]


def as_text(heads: list[str], rows: Rows) -> str:
    """Return a table for a terminal, its heads as a list of their own above it."""
    numbered = [f"{index}" for index in range(1, len(heads) + 1)]
    legend = [f"  {number} {head}" for number, head in zip(numbered, heads, strict=True)]
    widths = [max(len(row[column]) for row in [numbered, *rows]) for column in range(len(heads))]
    lines = [
        "  ".join(cell.rjust(width) for cell, width in zip(row, widths, strict=True))
        for row in [numbered, *rows]
    ]
    return "\n".join([*legend, *lines])


def as_markdown(heads: list[str], rows: Rows) -> str:
    """Return a table in Markdown."""
    lines = [heads, ["---"] + ["---:"] * (len(heads) - 1), *rows]
    return "\n".join(f"| {' | '.join(line)} |" for line in lines)
