"""Judges outlooks and rations by the weather of past years, and prints the tables."""

from __future__ import annotations

import argparse
import sys
import time
from importlib import import_module
from typing import TYPE_CHECKING

from tests.hindcast.marks import dry, leads
from tests.hindcast.rig import MEMBERS, Hindcast, garden_of_tests, hindcast
from tests.hindcast.tables import (
    as_markdown,
    as_text,
    dry_heads,
    dry_rows,
    lead_heads,
    lead_rows,
)
from tests.records import fetch

from steepwell.outlook.record import read_record

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

PARTS = ("outlook", "loop", "ready", "starts", "year", "pushes", "warnings")
OTHERS = {
    "loop": ("closed_loop", "closed_loop"),
    "ready": ("ready", "ready"),
    "starts": ("starts", "starts"),
    "year": ("outdoors", "year_outdoors"),
    "pushes": ("pushes", "pushes"),
    "warnings": ("warned", "warnings"),
}
GARDEN = "middle"
QUICK_YEARS, QUICK_MEMBERS = 2, 99


def main() -> int:
    """Run the parts asked for."""
    parser = _parser()
    options = parser.parse_args()
    if not set(options.parts) <= set(PARTS):
        parser.error(f"the parts are {' and '.join(PARTS)}")
    for part in options.parts or PARTS:
        start = time.perf_counter()
        if part == "outlook":
            _say(outlook_tables(fetch(), quick=options.quick, markdown=options.markdown))
        else:
            # The outlook goes without what the others need.
            module, name = OTHERS[part]
            run = getattr(import_module(f"tests.hindcast.{module}"), name)
            run(quick=options.quick, markdown=options.markdown)
        _say(f"{part}: {(time.perf_counter() - start) / 60:.1f} minutes")
    return 0


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="tests/hindcast/run", description=__doc__)
    parser.add_argument("parts", nargs="*", metavar="PART", help=f"one of {', '.join(PARTS)}")
    parser.add_argument("--quick", action="store_true", help="a few years for a taste")
    parser.add_argument("--markdown", action="store_true", help="tables in Markdown")
    return parser


def outlook_tables(paths: Sequence[Path], *, quick: bool, markdown: bool = False) -> str:
    """Return the tables of the outlook over whole records.

    Parameters
    ----------
    paths
        The records.
    quick
        Only the last years of each, and fewer members.
    markdown
        Whether for a document.

    Returns
    -------
    str
        Stored litres lead by lead, then chances of a dry day.
    """
    litres, chances, told = [], [], []
    for path in paths:
        found = judged(path, quick=quick)
        place = path.stem.capitalize()
        told.append(f"{place} {found.years[0]} to {found.years[-1]}")
        litres += lead_rows(place, leads(found), quick=quick)
        chances += dry_rows(place, dry(found), quick=quick)
    table = as_markdown if markdown else as_text
    title = (
        f"Stored litres of the {GARDEN} garden, an outlook a week from April to September, the "
        f"judged year left out: {', '.join(told)}"
    )
    if quick:
        title += "; a taste, for so few years tell little"
    return "\n\n".join(
        [
            title,
            table(lead_heads(), litres),
            "Dry within 14 days",
            table(dry_heads(), chances),
        ]
    )


def judged(path: Path, *, quick: bool) -> Hindcast:
    """Return the hindcast of one record."""
    record = read_record(path)
    garden = garden_of_tests(GARDEN)
    if not quick:
        return hindcast(garden, record, members=MEMBERS)
    last = record.first.year + record.days // 365 - 1
    years = range(last - QUICK_YEARS + 1, last + 1)
    return hindcast(garden, record, years=years, members=QUICK_MEMBERS)


def _say(text: str) -> None:
    sys.stdout.write(text + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    sys.exit(main())
