"""The rows of a weather record's CSV file, each fault named with its line."""

from __future__ import annotations

import csv
import math
from datetime import date
from typing import TYPE_CHECKING, NamedTuple

from steepwell.errors import WeatherRecordError

if TYPE_CHECKING:
    from pathlib import Path

COLUMNS = ("date", "rain_mm", "tmin_c", "tmax_c")
ET0_COLUMN = "et0_mm"
DELIMITERS = {";": "semicolons", "\t": "tabs", "|": "bars"}
# What has ever fallen in a day, and the air that can be; beyond stand codes for a missing value.
MOST_RAIN_MM = 2000.0
COLDEST_C, WARMEST_C = -80.0, 60.0
MOST_FAULTS_TOLD = 10


class Row(NamedTuple):
    """One day of the file: its line, and rain, Tmin, Tmax and ET0, NaN where empty."""

    line: int
    values: tuple[float, ...]


def read_rows(path: Path) -> dict[int, Row]:
    """Read the rows of a weather record.

    Parameters
    ----------
    path
        CSV with a header ``date,rain_mm,tmin_c,tmax_c``, perhaps ``et0_mm`` too.

    Returns
    -------
    dict
        One row a day, by the ordinal of the day.

    Raises
    ------
    WeatherRecordError
        If the file cannot be used; the message names every line that is wrong, up to ten.
    """
    try:
        with path.open(newline="", encoding="utf-8-sig") as file:
            rows = _rows(path, csv.DictReader(file))
    except (OSError, UnicodeDecodeError, csv.Error):
        raise WeatherRecordError(f"{path}: cannot be read; wanted a CSV file in UTF-8") from None
    if not rows:
        raise WeatherRecordError(f"{path}: no days in it; wanted one row a day")
    return rows


def _rows(path: Path, reader: csv.DictReader[str]) -> dict[int, Row]:
    headings = reader.fieldnames or ()
    missing = [name for name in COLUMNS if name not in headings]
    if missing:
        parted = [word for sign, word in DELIMITERS.items() if sign in "".join(headings)]
        found = f"parted by {parted[0]}" if parted else f"no column {', '.join(missing)}"
        raise WeatherRecordError(
            f"{path}: line 1: {found}; wanted {','.join(COLUMNS)}, parted by commas"
        )
    rows: dict[int, Row] = {}
    faults: list[str] = []
    for row in reader:
        line = reader.line_num
        try:
            day, values = _row(row, len(headings))
        except ValueError as error:
            faults.append(f"line {line}: {error}")
            continue
        if day in rows:
            faults.append(f"line {line}: {row['date']} a second time, after line {rows[day].line}")
        rows[day] = Row(line, values)
    if faults:
        more = len(faults) - MOST_FAULTS_TOLD
        told = faults[:MOST_FAULTS_TOLD] + ([f"and {more} more"] if more > 0 else [])
        raise WeatherRecordError(f"{path}: {'; '.join(told)}")
    return rows


def _row(row: dict[str, str], width: int) -> tuple[int, tuple[float, ...]]:
    if None in row:
        raise ValueError(
            f"more than {width} values; they are parted by commas, and a decimal has a point"
        )
    try:
        day = date.fromisoformat(row["date"]).toordinal()
        names = (*COLUMNS[1:], ET0_COLUMN)
        rain, tmin, tmax, et0 = (_number(row.get(name)) for name in names)
    except (ValueError, TypeError):
        raise ValueError(
            f"cannot be read; wanted {','.join(COLUMNS)}, dates like 1976-06-01"
        ) from None
    _refuse_nonsense(rain, tmin, tmax)
    return day, (rain, tmin, tmax, et0)


def _refuse_nonsense(rain_mm: float, tmin_c: float, tmax_c: float) -> None:
    empty = "leave empty what was not measured"
    if not (math.isnan(rain_mm) or 0.0 <= rain_mm <= MOST_RAIN_MM):
        raise ValueError(f"rain of {rain_mm:g} mm, wanted 0 or more, to {MOST_RAIN_MM:g}; {empty}")
    for celsius in (tmin_c, tmax_c):
        if celsius < COLDEST_C or celsius > WARMEST_C:
            raise ValueError(f"{celsius:g} °C, wanted {COLDEST_C:g} to {WARMEST_C:g}; {empty}")
    if tmin_c > tmax_c:
        raise ValueError(f"tmin_c {tmin_c:g} above tmax_c {tmax_c:g}")


def _number(text: str | None) -> float:
    value = float(text) if text else math.nan
    if math.isinf(value):
        raise ValueError(text)
    return value
