"""``steepwell export``: readings, journal and outlooks as CSV or JSON Lines, for other programs."""

from __future__ import annotations

import csv
import json
import sys
from contextlib import nullcontext
from datetime import UTC, date, datetime, time, timedelta
from typing import IO, TYPE_CHECKING, Any

from steepwell.clock import from_ms
from steepwell.errors import CommandError
from steepwell.garden.sensors import RainSensor, measured_by
from steepwell.store.store import garden_store_url, open_store
from steepwell.tell.posted import schemas

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable, Iterable, Iterator
    from pathlib import Path

    from steepwell.garden.garden import Garden
    from steepwell.garden.sensors import Sensor
    from steepwell.store.store import Store

Json = dict[str, Any]

EVER = datetime(1970, 1, 2, tzinfo=UTC)
ENTRY = ("number", "at", "recorded", "by", "kind", "withdrawn_by")
QUANTILES = ("p05", "p10", "p25", "p50", "p75", "p90", "p95")
# So much is held at a time.
STEP = timedelta(days=56)
SHOWN_EVERY = 10_000


def _readings(garden: Garden, store: Store, start: datetime, end: datetime) -> Iterator[Json]:
    measures = {sensor.name: measured_by(sensor)[1] for sensor in garden.sensor}
    for each in store.raw.readings(start, end):
        yield {
            "time": _utc(each.time_ms),
            "sensor": each.sensor,
            "measures": measures[each.sensor],
            "value": each.value,
            "flag": each.flag,
            "reason": each.reason,
        }


def _hours(garden: Garden, store: Store, start: datetime, end: datetime) -> Iterator[Json]:
    """Yield what each hour came to: the mean of its good readings, of a gauge what fell in it."""
    begins = store.raw.begins()
    since = end if begins is None else max(start, _hour(begins))
    while since < end:
        until = min(since + STEP, end)
        for sensor in garden.sensor:
            yield from _hours_of(sensor, store, since, until)
        since = until


def _hours_of(sensor: Sensor, store: Store, since: datetime, until: datetime) -> Iterator[Json]:
    told: list[tuple[int, float, float | None, float | None]]
    if isinstance(sensor, RainSensor):
        fell = store.readings.hourly_rise(sensor.name, since, until)
        told = [(hour_ms, mm, None, None) for hour_ms, mm in fell]
        measures = "rain_mm"
    else:
        facts = store.readings.hourly([sensor.name], since, until)
        told = [(fact.hour_ms, fact.mean, fact.least, fact.most) for fact in facts]
        measures = measured_by(sensor)[1]
    for hour_ms, value, least, most in told:
        yield {
            "hour": _utc(hour_ms),
            "sensor": sensor.name,
            "measures": measures,
            "value": round(value, 4),
            "least": least,
            "most": most,
        }


def _hour(moment: datetime) -> datetime:
    return moment.replace(minute=0, second=0, microsecond=0)


def _journal(_garden: Garden, store: Store, start: datetime, end: datetime) -> Iterable[Json]:
    return store.raw.journal(start, end)


def _outlooks(_garden: Garden, store: Store, start: datetime, end: datetime) -> Iterable[Json]:
    return store.results.between("outlook", start, end)


KINDS = {
    "hours": _hours,
    "readings": _readings,
    "journal": _journal,
    "outlooks": _outlooks,
}


def export(garden: Garden, options: argparse.Namespace, now: datetime) -> Json | None:
    """Write what is stored of some days.

    Parameters
    ----------
    garden
        The garden.
    options
        The words of the command.
    now
        The moment; nothing later is written.

    Returns
    -------
    dict or None
        ``files``, each with its lines; None where all went to standard output.

    Raises
    ------
    CommandError
        If a date cannot be read, or more than one thing is to go to standard output.
    """
    if options.schemas:
        return _export_schemas(options.into)
    if options.into is None and len(options.of) > 1:
        raise CommandError(
            "only one thing at a time goes to standard output; name one with --of, or a folder "
            "with --into"
        )
    start, end = _span(garden, options, now)
    files: list[Json] = []
    with open_store(garden_store_url(garden), garden, read_only=True) as store:
        for kind in options.of:
            rows = KINDS[kind](garden, store, start, end)
            rows = _flat(kind, rows) if options.form == "csv" else rows
            path = None if options.into is None else options.into / f"{kind}.{options.form}"
            lines = _write(path, rows, options.form)
            files.append({"file": str(path), "lines": lines})
    return None if options.into is None else {"files": files}


def export_screen(answer: Json) -> str:
    """Return the answer of ``steepwell export`` where it wrote files."""
    return "\n".join(f"{each['file']}: {each['lines']:,} lines" for each in answer["files"])


def _export_schemas(into: Path | None) -> Json | None:
    """Write the JSON Schema of each posted topic."""
    known = schemas()
    if into is None:
        print(json.dumps(known, ensure_ascii=False, indent=2))  # noqa: T201 - the command's voice
        return None
    files: list[Json] = []
    for kind, schema in known.items():
        path = into / f"{kind}.schema.json"
        text = json.dumps(schema, ensure_ascii=False, indent=2) + "\n"
        with _opened(path) as out:
            out.write(text)
        files.append({"file": str(path), "lines": text.count("\n")})
    return {"files": files}


def _span(garden: Garden, options: argparse.Namespace, now: datetime) -> tuple[datetime, datetime]:
    """Return from when to when, both days of the garden's own calendar counted in."""
    first, last = _day(options.first), _day(options.last)
    zone = garden.garden.zone
    start = EVER if first is None else datetime.combine(first, time(), zone)
    if last is None:
        return start, now + timedelta(milliseconds=1)
    end = datetime.combine(last + timedelta(days=1), time(), zone)
    if end <= start:
        raise CommandError(
            f"{options.last} is before {options.first}; give the later day with --to"
        )
    return start, min(end, now + timedelta(milliseconds=1))


def _day(text: str | None) -> date | None:
    if text is None:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise CommandError(f'{text!r} is no date; write it like "2031-06-01"') from None


def _flat(kind: str, rows: Iterable[Json]) -> Iterator[Json]:
    """Yield rows with one value in each column: an entry as JSON, an outlook by its days."""
    for row in rows:
        if kind == "journal":
            rest = {key: value for key, value in row.items() if key not in ENTRY}
            told = {key: row.get(key) for key in ENTRY}
            yield {**told, "entry": json.dumps(rest, ensure_ascii=False)}
        elif kind == "outlooks":
            water = row["water"]
            for index, day in enumerate(row["days"]):
                volume = {f"volume_l_{q}": water["volume_l"][q][index] for q in QUANTILES}
                told = {"issued": row["issued"], "day": day}
                yield {**told, **volume, "p_dry": water["p_dry"][index]}
        else:
            yield row


def _write(path: Path | None, rows: Iterable[Json], form: str) -> int:
    """Write rows to a file or to standard output; return how many there were."""
    lines = 0
    with nullcontext(sys.stdout) if path is None else _opened(path) as out:
        put = _csv_writer(out) if form == "csv" else _json_writer(out)
        for row in rows:
            put(row)
            lines += 1
            if path is not None and lines % SHOWN_EVERY == 0 and sys.stderr.isatty():
                print(f"\r{path.name}: {lines:,} ", end="", file=sys.stderr, flush=True)  # noqa: T201 - the command's voice
    return lines


def _csv_writer(out: IO[str]) -> Callable[[Json], object]:
    writer: csv.DictWriter[str] | None = None

    def put(row: Json) -> None:
        nonlocal writer
        if writer is None:
            writer = csv.DictWriter(out, row, lineterminator="\n")
            writer.writeheader()
        writer.writerow(row)

    return put


def _json_writer(out: IO[str]) -> Callable[[Json], object]:
    return lambda row: out.write(json.dumps(row, ensure_ascii=False) + "\n")


def _opened(path: Path) -> IO[str]:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        return path.open("w", encoding="utf-8", newline="")
    except OSError as error:
        raise CommandError(f"{path}: it cannot be written there ({error})") from None


def _utc(time_ms: int) -> str:
    return from_ms(time_ms).isoformat(timespec="milliseconds").replace("+00:00", "Z")
