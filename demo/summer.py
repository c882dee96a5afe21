"""Plays an invented garden through an invented dry summer, and says what came of it."""

# ruff: noqa: T201, INP001 - a script, and printing is its way out

from __future__ import annotations

import json
import os
import re
import signal
import sys
from collections import Counter
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from email import message_from_bytes
from email.policy import SMTP
from pathlib import Path
from textwrap import fill, indent
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from steepwell.errors import SteepwellError
from steepwell_sim.replay.driver import replay
from steepwell_sim.replay.options import Options
from steepwell_sim.weather.invent import write_invented

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell_sim.world.world import World

HERE = Path(__file__).resolve().parent
OUT = HERE / "out"
FIRST, LAST = date(2031, 5, 1), date(2031, 8, 31)
ZONE = ZoneInfo("Europe/London")  # of the garden
SEED = 1
BAR = 30
LINE = 78
ON_A_TERMINAL = sys.stderr is not None and sys.stderr.isatty()

Json = dict[str, Any]


@dataclass(slots=True)
class Month:
    """What a gardener would count in a month."""

    rain_mm: float = 0.0
    given_l: float = 0.0
    dry_days: int = 0


@dataclass(slots=True)
class Diary:
    """Counts the days as they end, and shows how far the summer is."""

    months: dict[str, Month] = field(default_factory=dict)
    rain_mm: float | None = None

    def end_day(self, day: date, world: World) -> None:
        """Count a day that has ended."""
        if self.rain_mm is None:
            self.rain_mm = world.rain_mm
        month = self.months.setdefault(f"{day:%B}", Month())
        month.rain_mm += world.rain_mm - self.rain_mm
        month.given_l += world.today.given_l
        month.dry_days += world.dry
        self.rain_mm = world.rain_mm
        _show(day, world.rainwater.above_taps_l())


def main() -> int:
    """Play the summer and print what came of it; return the exit code."""
    for number in (signal.SIGTERM, signal.SIGHUP):
        signal.signal(number, signal.default_int_handler)
    diary = Diary()
    try:
        print(_told(diary, _play(diary)))
    except SteepwellError as error:
        print(f"\n{error}", file=sys.stderr)
        return error.exit_code
    except OSError as error:
        where = error.filename or OUT
        print(f"\n{where} cannot be written: {error.strerror}.", file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        print("\nEnded before the summer was over.", file=sys.stderr)
        return 1
    return 0


def _told(diary: Diary, summary: Json) -> str:
    """Write letters and notices for reading, and return what came of the summer."""
    letters = _write_letters()
    notices = _lines("notices")
    (OUT / "notices.txt").write_text("\n".join(map(_notice, notices)), encoding="utf-8")
    parts = (
        _months(diary.months, notices),
        _vessels(summary["notices"]),
        _where(letters, summary["first_dry_day"]),
    )
    return "\n".join(parts)


def _play(diary: Diary) -> Json:
    record, weather = write_invented(OUT, summer=FIRST.year, seed=SEED)
    options = Options(
        garden=HERE / "garden.toml",
        weather=weather,
        record=record,
        first=FIRST,
        last=LAST,
        out=OUT,
        journal=HERE / "journal.jsonl",
        seed=SEED,
    )
    print(
        f"Damson Corner, an invented garden, from {_day(FIRST)} to {_day(LAST)} {LAST.year}: "
        "its sensors\nspeak to the daemon over a broker, and the gardener waters once a week.",
        file=sys.stderr,
    )
    summary = replay(options, diary.end_day)
    if ON_A_TERMINAL:
        print(file=sys.stderr)
    return summary


def _show(day: date, in_hand_l: float) -> None:
    """Show how far the summer is: a bar on a terminal, else a line a month."""
    days, total = (day - FIRST).days + 1, (LAST - FIRST).days + 1
    if ON_A_TERMINAL:
        bar = ("#" * (BAR * days // total)).ljust(BAR, ".")
        print(
            f"\r{day:%d %b} [{bar}] {days} of {total} days, {in_hand_l:.0f} L in hand\033[K",
            end="",
            flush=True,
            file=sys.stderr,
        )
    elif (day + timedelta(days=1)).day == 1:
        print(f"{day:%B} is over, {in_hand_l:.0f} L in hand", flush=True, file=sys.stderr)


def _write_letters() -> list[Path]:
    """Write every letter out of its mail, as a page with its picture and as text."""
    folder = OUT / "letters"
    folder.mkdir(exist_ok=True)
    for old in folder.iterdir():
        old.unlink()
    pages = []
    for path in sorted((OUT / "mail").glob("*.eml")):
        mail = message_from_bytes(path.read_bytes(), policy=SMTP)
        page, text = mail.get_body(("html",)), mail.get_body(("plain",))
        if page is None or text is None:
            continue
        file = folder / f"{path.name[:10]}.html"
        head = f"Subject: {mail['Subject']}\n\n"
        file.with_suffix(".txt").write_text(head + text.get_content(), encoding="utf-8")
        file.write_text(re.sub('cid:[^"]+', f"{file.stem}.png", page.get_content()))
        for part in mail.walk():
            if part.get_content_type() == "image/png":
                file.with_suffix(".png").write_bytes(part.get_content())
        pages.append(file)
    return pages


def _lines(name: str) -> list[Json]:
    text = (OUT / f"{name}.jsonl").read_text(encoding="utf-8")
    return [json.loads(line) for line in text.splitlines()]


def _notice(notice: Json) -> str:
    at = datetime.fromisoformat(notice["at"]).astimezone(ZONE)
    head = f"{at:%a} {_day(at)}, {at:%H:%M}: {notice['headline']}"
    return f"{head}\n{indent(fill(notice['text'], LINE - 2), '  ')}\n"


def _months(months: dict[str, Month], notices: Sequence[Json]) -> str:
    told = Counter(
        f"{datetime.fromisoformat(notice['at']):%B}"
        for notice in notices
        if notice["event"] in ("raised", "changed")
    )
    rows = [
        (name, f"{of.rain_mm:.0f} mm", f"{of.given_l:.0f} L", f"{of.dry_days}", f"{told[name]}")
        for name, of in months.items()
    ]
    return _table(("", "rain", "water given", "days dry", "notices"), rows)


def _vessels(notices: Sequence[Json]) -> str:
    rows = []
    for notice in notices:
        if notice["id"].startswith("vessel-ready/") and notice.get("error_d") is not None:
            at = datetime.fromisoformat(notice["at"])
            true = at - timedelta(days=notice["error_d"])
            rows.append((notice["id"].partition("/")[2], _day(at), _day(true)))
    return _table(("vessel", "said to be ready", "truly ready"), rows)


def _table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    widths = [max(map(len, column)) for column in zip(head, *rows, strict=True)]
    return "".join(
        row[0].ljust(widths[0])
        + "".join(cell.rjust(width + 3) for cell, width in zip(row[1:], widths[1:], strict=True))
        + "\n"
        for row in (head, *rows)
    )


def _where(letters: Sequence[Path], first_dry_day: str | None) -> str:
    told = "The butts never ran dry."
    before = letters
    if first_dry_day is not None:
        told = f"The butts ran dry first on {_day(date.fromisoformat(first_dry_day))}."
        before = [letter for letter in letters if letter.stem < first_dry_day]
    telling = before[-1]
    places = {
        "The last letter": letters[-1],
        "  as text": letters[-1].with_suffix(".txt"),
        f"The letter of {_day(date.fromisoformat(telling.stem))}": telling,
        "  its picture": telling.with_suffix(".png"),
        "All notices": OUT / "notices.txt",
    }
    width = max(map(len, places))
    lines = [f"{what.ljust(width)}  {os.path.relpath(path)}" for what, path in places.items()]
    return "\n".join([told, "", *lines])


def _day(day: date) -> str:
    return f"{day.day} {day:%B}"


if __name__ == "__main__":
    sys.exit(main())
