"""How often a gardener is told something between two letters, in years nothing was fitted to."""

from __future__ import annotations

import argparse
import subprocess
import sys
import tempfile
from collections import Counter
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from email import message_from_bytes, policy
from pathlib import Path
from typing import TYPE_CHECKING

from tests.hindcast.tables import MISSED, as_markdown, as_text
from tests.records import fetch

from steepwell.garden.tables import config_dir

if TYPE_CHECKING:
    from collections.abc import Sequence

GARDENS = ("small", "middle", "large", "roomy")
YEARS = (1976, 1981)
TIME_LIMIT_S = 3000
# The marks: one a week on average from April to September, three in the worst week, and from
# November to February nothing but frost and leaks.
MOST_A_WEEK, MOST_IN_A_WEEK = 1.0, 3
WINTER = frozenset({11, 12, 1, 2})
WEEK = timedelta(days=7)
# What the headlines of leaks and of frost have in them.
ALL_YEAR_TOLD = ("frost", "freeze", "loses about")
TASTE = ("04-01", "06-30")
SUMMER = ("04-01", "09-30")
ALL_YEAR = ("01-01", "12-31")


@dataclass(frozen=True, slots=True)
class Told:
    """One message between two letters: when, and its subject."""

    at: datetime
    subject: str


def pushes_of(folder: Path) -> list[Told]:
    """Return what was told between letters, by the mails of a replay, in order of time."""
    found = []
    for path in folder.glob("*.eml"):
        mail = message_from_bytes(path.read_bytes(), policy=policy.default)
        if "-notice-" in str(mail["Message-ID"]):
            found.append(Told(mail["Date"].datetime, str(mail["Subject"])))
    return sorted(found, key=lambda told: told.at)


def replayed(record: Path, garden: str, year: int, span: tuple[str, str]) -> list[Told]:
    """Let a gardener live through a year with the real daemon.

    Parameters
    ----------
    record
        The daily record.
    garden
        Which garden.
    year
        Which year.
    span
        Its first and last day, month and day.

    Returns
    -------
    list of Told
        What was told between two letters.
    """
    first, last = span
    with tempfile.TemporaryDirectory() as out:
        command = [
            *(sys.executable, "-m", "steepwell_sim", "replay"),
            str(config_dir() / "gardens" / f"{garden}.toml"),
            *("--weather", str(record), "--gardener", "weekly", "--seed", "1"),
            *("--from", f"{year}-{first}", "--to", f"{year}-{last}", "--out", out),
        ]
        ended = subprocess.run(
            command, capture_output=True, text=True, timeout=TIME_LIMIT_S, check=False
        )
        if ended.returncode:
            raise RuntimeError(f"the {garden} garden in {year}: {ended.stderr}")
        return pushes_of(Path(out) / "mail")


def row_of(garden: str, year: int, told: Sequence[Told], span: tuple[str, str]) -> list[str]:
    """Return the line of one garden and year, with what misses a mark."""
    first = date.fromisoformat(f"{year}-{span[0]}")
    last = date.fromisoformat(f"{year}-{span[1]}")
    begin, end = max(first, date(year, 4, 1)), min(last, date(year, 9, 30))
    summer = [each for each in told if begin <= each.at.date() <= end]
    a_week = len(summer) / max(((end - begin).days + 1) / WEEK.days, 1.0)
    worst = max(
        (sum(one.at <= other.at < one.at + WEEK for other in told) for one in told), default=0
    )
    winter = [
        each.subject
        for each in told
        if each.at.month in WINTER
        and not any(word in each.subject.lower() for word in ALL_YEAR_TOLD)
    ]
    kinds = Counter(each.subject.split(",")[0].split(":")[0] for each in told)
    return [
        garden,
        f"{year}",
        f"{len(summer)}",
        f"{a_week:.2f}{MISSED if a_week > MOST_A_WEEK else ''}",
        f"{worst}{MISSED if worst > MOST_IN_A_WEEK else ''}",
        f"{len(winter)}{MISSED if winter else ''}",
        "; ".join(f"{count} {kind}" for kind, count in kinds.most_common()),
    ]


def pushes(
    *,
    quick: bool,
    markdown: bool = False,
    only: Sequence[str] = (),
    span: tuple[str, str] = ALL_YEAR,
) -> None:
    """Print how often something was told, garden by garden and year by year.

    Parameters
    ----------
    quick
        One garden, one spring, for a taste.
    markdown
        Whether the table is for a document.
    only
        Gardens and years to go through, such as ``small/1976``; all where there are none.
    span
        First and last day of each year, month and day.
    """
    record = next(path for path in fetch() if path.stem == "brussels")
    asked = [f"{garden}/{year}" for year in YEARS for garden in GARDENS]
    span = TASTE if quick else span
    rows = []
    for each in only or (asked[:1] if quick else asked):
        garden, year = each.split("/")
        row = row_of(garden, int(year), replayed(record, garden, int(year), span), span)
        rows.append(row)
        sys.stderr.write(f"{' '.join(row)}\n")
    heads = [
        "garden",
        "year",
        "told, April to September",
        f"a week (at most {MOST_A_WEEK:g})",
        f"in the worst seven days (at most {MOST_IN_A_WEEK})",
        "November to February, but frost and leaks (none)",
        "what",
    ]
    sys.stdout.write((as_markdown if markdown else as_text)(heads, rows) + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("only", nargs="*", metavar="GARDEN/YEAR")
    parser.add_argument("--summer", action="store_true", help="from April to September only")
    parser.add_argument("--markdown", action="store_true")
    options = parser.parse_args()
    wanted = SUMMER if options.summer else ALL_YEAR
    pushes(quick=False, markdown=options.markdown, only=options.only, span=wanted)
