"""``steepwell import``: takes in the readings and the journal that ``steepwell export`` wrote."""

from __future__ import annotations

import csv
import json
import math
from bisect import insort
from datetime import datetime
from typing import IO, TYPE_CHECKING, Any, NamedTuple

from steepwell.clock import to_ms
from steepwell.errors import CommandError, JournalError
from steepwell.store.arrivals import Batch
from steepwell.store.entries import check_entry, read_entry
from steepwell.store.ledger import LATE
from steepwell.store.store import garden_store_url, open_store

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from steepwell.garden.garden import Garden
    from steepwell.store.entries import Entry
    from steepwell.store.rows import Row
    from steepwell.store.store import Store

Json = dict[str, Any]

AT_ONCE = 5_000
FLAGS = (1, 2, 3, 4, 9)
# What the store that an entry comes from says of it, and not the entry itself.
NOT_OF_THE_ENTRY = ("number", "recorded", "withdrawn_by", "entry")


class Taken(NamedTuple):
    """What became of the rows of a file."""

    new: int
    there: int
    refused: int


def bring_in(garden: Garden, files: Sequence[Path], now: datetime) -> Json:
    """Take in what other stores exported; what is there already changes nothing.

    Parameters
    ----------
    garden
        The garden, in whose file all sensors, beds, butts and vessels are named.
    files
        Readings or journal, as CSV or JSON Lines.
    now
        The moment.

    Returns
    -------
    dict
        ``files``, each with what is new, what was there, and what was refused.

    Raises
    ------
    CommandError
        If a file is none that can be taken in; nothing of it is then written.
    """
    answer: list[Json] = []
    with open_store(garden_store_url(garden), garden) as store:
        for file in files:
            rows = _all_rows(file)
            kind = _kind_of(file, rows)
            taken = (
                _take_readings(store, _readings(store, file, rows, now), now)
                if kind == "readings"
                else _take_journal(store, _entries(garden, store, file, rows, now), now)
            )
            answer.append({"file": str(file), "of": kind, **taken._asdict()})
        if any(each["new"] for each in answer):
            store.ledger.finish(LATE, now)
    return {"files": answer}


def import_screen(answer: Json) -> str:
    """Return the answer of ``steepwell import``."""
    return "\n".join(
        f"{each['file']}: {each['new']:,} new, {each['there']:,} there already"
        + (
            f", {each['refused']:,} refused: they are told otherwise here"
            if each["refused"]
            else ""
        )
        for each in answer["files"]
    )


def _all_rows(file: Path) -> list[tuple[int, Json]]:
    try:
        return list(_rows(file))
    except (UnicodeDecodeError, csv.Error):
        raise CommandError(f"{file}: that is no text of an export") from None


def _rows(file: Path) -> Iterator[tuple[int, Json]]:
    """Yield each row with the number of its line."""
    with _opened(file) as lines:
        begins = lines.read(1)
        lines.seek(0)
        if begins != "{":
            for row in (reader := csv.DictReader(lines)):
                yield reader.line_num, {key: value for key, value in row.items() if value != ""}
            return
        for number, line in enumerate(lines, 1):
            yield number, _object(file, number, line)


def _object(file: Path, number: int, line: str) -> Json:
    try:
        row = json.loads(line)
    except ValueError:
        row = None
    if not isinstance(row, dict):
        raise CommandError(f"{file}, line {number}: that is no JSON object")
    return row


def _opened(file: Path) -> IO[str]:
    try:
        return file.open(encoding="utf-8", newline="")
    except OSError as error:
        raise CommandError(f"{file}: it cannot be read ({error.strerror})") from None


def _kind_of(file: Path, rows: Sequence[tuple[int, Json]]) -> str:
    first = rows[0][1] if rows else {}
    if {"time", "sensor", "value", "flag"} <= first.keys():
        return "readings"
    if {"number", "recorded", "at", "kind"} <= first.keys():
        return "journal"
    raise CommandError(
        f"{file}: this is neither the readings nor the journal of an export; write them with "
        "steepwell export --of readings journal --into FOLDER"
    )


def _readings(
    store: Store, file: Path, rows: Sequence[tuple[int, Json]], now: datetime
) -> list[Row]:
    named = {str(row.get("sensor", "without a name")) for _, row in rows}
    unknown = sorted(named - store.readings.ids.keys())
    if unknown:
        raise CommandError(
            f"{file}: the garden file names no sensor {', '.join(unknown)}; add its section first"
        )
    found: list[Row] = []
    for number, row in rows:
        try:
            time_ms = to_ms(datetime.fromisoformat(row["time"]))
            value, flag = float(row["value"]), int(row["flag"])
        except (KeyError, TypeError, ValueError):
            time_ms, value, flag = 0, math.nan, 0
        if not math.isfinite(value) or flag not in FLAGS or time_ms > to_ms(now):
            raise CommandError(f"{file}, line {number}: that is no reading of an export")
        found.append((time_ms, store.readings.ids[row["sensor"]], value, flag, row.get("reason")))
    return found


def _take_readings(store: Store, rows: Sequence[Row], now: datetime) -> Taken:
    new = there = refused = 0
    for begin in range(0, len(rows), AT_ONCE):
        some = list(rows[begin : begin + AT_ONCE])
        origins = [(to_ms(now), "import", b"")] * len(some)
        written = store.readings.write(Batch(timed=some, origins=origins))
        new += written.stored
        there += written.repeats
        refused += written.refused
    return Taken(new, there, refused)


def _entries(
    garden: Garden, store: Store, file: Path, rows: Sequence[tuple[int, Json]], now: datetime
) -> list[Entry | None]:
    """Return the entries that stand, None for each that is there already."""
    known = store.journal.entries(now)
    written = {_told(entry) for entry in known}
    found: list[Entry | None] = []
    for number, row in rows:
        if row.get("withdrawn_by") is not None or row.get("kind") == "corrected":
            continue
        raw = {key: value for key, value in row.items() if key not in NOT_OF_THE_ENTRY}
        try:
            raw |= json.loads(row.get("entry", "{}"))
            entry = read_entry(raw, now)
            if _told(entry) in written:
                found.append(None)
                continue
            check_entry(entry, garden, known)
        except ValueError:
            raise CommandError(f"{file}, line {number}: that is no entry of an export") from None
        except JournalError as error:
            raise CommandError(f"{file}, line {number}: {error}") from None
        insort(known, entry, key=lambda each: each.at)
        found.append(entry)
    return found


def _take_journal(store: Store, entries: Sequence[Entry | None], now: datetime) -> Taken:
    new = [entry for entry in entries if entry is not None]
    with store.transaction():
        for entry in new:
            store.journal.append(entry, now)
    return Taken(len(new), len(entries) - len(new), 0)


def _told(entry: Entry) -> str:
    """Return what an entry says, without its number here."""
    return entry.model_dump_json(by_alias=True, exclude={"id"})
