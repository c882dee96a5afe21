"""Reads and writes a daily weather record for the simulated garden."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from steepwell.errors import WeatherRecordError

if TYPE_CHECKING:
    from pathlib import Path

NEEDED = ("date", "rain_mm", "tmin_c", "tmax_c")


@dataclass(frozen=True, slots=True)
class Day:
    """The weather of one day.

    Attributes
    ----------
    rain_mm
        Rain of the day [mm].
    tmin_c, tmax_c
        Least and greatest air temperature [°C].
    et0_mm
        Reference evapotranspiration where the record has it [mm].
    """

    rain_mm: float
    tmin_c: float
    tmax_c: float
    et0_mm: float | None = None


Record = Mapping[date, Day]


def read_record(path: Path) -> dict[date, Day]:
    """Read a record with the columns ``date,rain_mm,tmin_c,tmax_c`` and perhaps ``et0_mm``.

    Parameters
    ----------
    path
        The CSV file.

    Returns
    -------
    dict
        Days in order; a row with an empty cell is a gap.

    Raises
    ------
    WeatherRecordError
        If it cannot be read, a column is missing, or a row makes no sense.
    """
    try:
        with path.open(encoding="utf-8", newline="") as file:
            return _read_rows(path, csv.DictReader(file))
    except OSError as error:
        raise WeatherRecordError(
            f"The weather record {path} cannot be read: {error.strerror}. "
            "Give the path of a CSV file."
        ) from None
    except UnicodeDecodeError:
        raise WeatherRecordError(
            f"The weather record {path} is no text; give a CSV file."
        ) from None


def _read_rows(path: Path, rows: csv.DictReader[str]) -> dict[date, Day]:
    missing = [name for name in NEEDED if name not in (rows.fieldnames or ())]
    if missing:
        raise WeatherRecordError(
            f"The weather record {path} lacks the column {missing[0]}; "
            f"its first line is {','.join(NEEDED)} and, if known, et0_mm."
        )
    days: dict[date, Day] = {}
    for row in rows:
        if not all(row[name] for name in NEEDED):
            continue
        try:
            when, day = _read_row(row)
        except ValueError as error:
            raise WeatherRecordError(
                f"Line {rows.line_num} of the weather record {path} cannot be used: {error}."
            ) from None
        days[when] = day
    if not days:
        raise WeatherRecordError(f"The weather record {path} has no days; give one that has some.")
    return dict(sorted(days.items()))


def _read_row(row: dict[str, str]) -> tuple[date, Day]:
    day = Day(
        rain_mm=float(row["rain_mm"]),
        tmin_c=float(row["tmin_c"]),
        tmax_c=float(row["tmax_c"]),
        et0_mm=float(row["et0_mm"]) if row.get("et0_mm") else None,
    )
    if day.rain_mm < 0 or (day.et0_mm is not None and day.et0_mm < 0):
        raise ValueError("rain and et0 are not less than 0")
    if day.tmin_c > day.tmax_c:
        raise ValueError("tmin_c is above tmax_c")
    return date.fromisoformat(row["date"]), day


def write_record(path: Path, days: Record) -> None:
    """Write days as a record that ``read_record`` and the daemon read.

    Parameters
    ----------
    path
        The CSV file.
    days
        The days; ``et0_mm`` is written if every day has it.
    """
    with_et0 = all(day.et0_mm is not None for day in days.values())
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow([*NEEDED, *(["et0_mm"] if with_et0 else [])])
        for when, day in days.items():
            et0 = [f"{day.et0_mm:g}"] if with_et0 else []
            row = (f"{day.rain_mm:g}", f"{day.tmin_c:g}", f"{day.tmax_c:g}")
            writer.writerow([when.isoformat(), *row, *et0])


def without_years(days: Record, years: Iterable[int]) -> dict[date, Day]:
    """Return a record without every day of certain calendar years."""
    left_out = set(years)
    return {when: day for when, day in days.items() if when.year not in left_out}


def first_of_unbroken_run(days: Record, until: date, *, at_most: int) -> date:
    """Return the earliest day from which the record runs to ``until`` without a gap.

    Parameters
    ----------
    days
        The record.
    until
        A day of the record.
    at_most
        How many days to go back at most.

    Returns
    -------
    date
        At most ``at_most`` days before ``until``.
    """
    start = until
    while (until - start).days < at_most and start - timedelta(days=1) in days:
        start -= timedelta(days=1)
    return start


def refuse_gaps(days: Record, first: date, last: date) -> None:
    """Refuse a period of which the record lacks a day.

    Parameters
    ----------
    days
        The record.
    first, last
        The period, both days in it.

    Raises
    ------
    WeatherRecordError
        If a day is missing.
    """
    when = first
    while when <= last:
        if when not in days:
            raise WeatherRecordError(
                f"The weather file has no complete line for {when}; every day from {first} to "
                f"{last} is needed. Fill it in or choose other dates."
            )
        when += timedelta(days=1)
