"""The rows of a weather record's CSV file, each fault named with its line."""

from __future__ import annotations

import csv
import math
from typing import TYPE_CHECKING, NamedTuple

from steepwell.errors import WeatherRecordError
from steepwell.outlook.record_headings import COLUMNS
from steepwell.outlook.record_shape import Shape, days_of, shape_of, units_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from pathlib import Path

# What has ever fallen in a day, and the air that can be; beyond stand codes for a missing value.
MOST_RAIN_MM = 2000.0
COLDEST_C, WARMEST_C = -80.0, 60.0
# The wettest places there are have so much a day, all the year [mm]; what has more is no rain.
MOST_ON_AVERAGE_MM = 40.0
MOST_FAULTS_TOLD = 10
MOST_HEADINGS_TOLD = 12


class Row(NamedTuple):
    """One day of the file: its line, and rain, Tmin, Tmax and ET0, NaN where empty."""

    line: int
    values: tuple[float, ...]


class Written(NamedTuple):
    """A row as it stands in the file."""

    line: int
    day: str
    values: tuple[float, ...]


class Rows(NamedTuple):
    """One row a day by the ordinal of the day, and how a file with names of its own was read."""

    days: dict[int, Row]
    read_as: str


def read_rows(path: Path) -> Rows:
    """Read the rows of a weather record.

    Parameters
    ----------
    path
        CSV with a header ``date,rain_mm,tmin_c,tmax_c``, perhaps ``et0_mm`` too; or the daily file
        of a weather service, whose columns and units are told by their names.

    Returns
    -------
    Rows
        In mm and °C.

    Raises
    ------
    WeatherRecordError
        If the file cannot be used; the message names every line that is wrong, up to ten.
    """
    lines = _lines(path)
    shape = shape_of(lines)
    if not isinstance(shape, Shape):
        line, missing, found = shape
        more = ", ..." if len(found) > MOST_HEADINGS_TOLD else ""
        said = f"; found {', '.join(found[:MOST_HEADINGS_TOLD])}{more}" if found else ""
        raise WeatherRecordError(
            f"{path}: line {line}: no column {', '.join(missing)}{said}; wanted {','.join(COLUMNS)}"
        )
    faults: list[str] = []
    written = list(_written(lines, shape, faults))
    if not written and not faults:
        raise WeatherRecordError(f"{path}: no days in it; wanted one row a day")
    try:
        rows = _rows(written, shape, faults)
    except ValueError as error:
        raise WeatherRecordError(f"{path}: {error}") from None
    if faults:
        faults.sort(key=lambda fault: int(fault.split()[1].rstrip(":")))
        more_of_them = len(faults) - MOST_FAULTS_TOLD
        told = faults[:MOST_FAULTS_TOLD]
        told += [f"and {more_of_them} more"] if more_of_them > 0 else []
        raise WeatherRecordError(f"{path}: {'; '.join(told)}")
    return rows


def _lines(path: Path) -> list[str]:
    """Return the lines of a file in UTF-8, or in the Latin-1 of older ones."""
    try:
        raw = path.read_bytes()
    except OSError:
        raw = b"\0"
    if b"\0" in raw:
        raise WeatherRecordError(f"{path}: cannot be read; wanted a CSV file in UTF-8")
    try:
        return raw.decode("utf-8-sig").splitlines()
    except UnicodeDecodeError:
        return raw.decode("latin-1").splitlines()


def _written(lines: Sequence[str], shape: Shape, faults: list[str]) -> Iterator[Written]:
    reader = csv.reader(lines[shape.line :], delimiter=shape.delimiter)
    width, days = len(shape.headings), shape.places.day
    for cells in reader:
        line = shape.line + reader.line_num
        if not any(cell.strip() for cell in cells):
            continue
        if any(cells[width:]):
            many = f"more than {width} values"
            faults.append(
                f"line {line}: {many}; they are parted by commas, and a decimal has a point"
            )
            continue
        try:
            day = "-".join([cells[at].strip().zfill(2) for at in days])
            yield Written(line, day, shape.values(cells))
        except (ValueError, IndexError):
            faults.append(f"line {line}: {_unreadable(shape)}")


def _unreadable(shape: Shape) -> str:
    if shape.is_own:
        return f"cannot be read; wanted {','.join(COLUMNS)}, dates like 1976-06-01"
    return f"cannot be read; wanted a day and numbers under {', '.join(shape.called())}"


def _rows(written: Sequence[Written], shape: Shape, faults: list[str]) -> Rows:
    day_of = days_of([row.day for row in written])
    numbers = [value for row in written for value in row.values[:3] if not math.isnan(value)]
    most_c = max((value for row in written for value in row.values[1:3]), default=0.0, key=_known)
    whole = all(value.is_integer() for value in numbers)
    units = units_of(shape, most_c, whole=whole)
    rows: dict[int, Row] = {}
    for line, said, values in written:
        try:
            day = day_of(said).toordinal()
        except ValueError:
            faults.append(f"line {line}: {_unreadable(shape)}")
            continue
        if day in rows:
            faults.append(f"line {line}: {said} a second time, after line {rows[day].line}")
        measured = values if shape.is_own else units.turned(values)
        wrong = _nonsense(measured, shape)
        faults += [f"line {line}: {wrong}"] if wrong else []
        rows[day] = Row(line, measured)
    _refuse_what_is_no_rain(rows.values(), shape)
    tenths = " in tenths" if units.rain < 1.0 else ""
    day_as, rain_as, low_as, high_as = shape.called()
    read_as = f"days from {day_as}, rain from {rain_as}, low and high from {low_as} and {high_as}"
    return Rows(rows, "" if shape.is_own else f"{read_as}{tenths}")


def _known(value: float) -> float:
    return -math.inf if math.isnan(value) else value


def _nonsense(values: Sequence[float], shape: Shape) -> str | None:
    """Return what cannot be of a day."""
    rain_mm, tmin_c, tmax_c, _ = values
    empty = "leave empty what was not measured"
    if not (math.isnan(rain_mm) or 0.0 <= rain_mm <= MOST_RAIN_MM):
        return f"rain of {rain_mm:g} mm, wanted 0 or more, to {MOST_RAIN_MM:g}; {empty}"
    for celsius in (tmin_c, tmax_c):
        if celsius < COLDEST_C or celsius > WARMEST_C:
            return f"{celsius:g} °C, wanted {COLDEST_C:g} to {WARMEST_C:g}; {empty}"
    if tmin_c > tmax_c:
        _, _, low, high = shape.called()
        return f"{low} {tmin_c:g} above {high} {tmax_c:g}"
    return None


def _refuse_what_is_no_rain(rows: Iterable[Row], shape: Shape) -> None:
    rain = [row.values[0] for row in rows if not math.isnan(row.values[0])]
    if rain and not shape.is_own and sum(rain) > MOST_ON_AVERAGE_MM * len(rain):
        raise ValueError(
            f"{shape.called()[1]} has {sum(rain) / len(rain):.0f} mm a day on average, which is no "
            "rain; name the column with the rain of the day in mm rain_mm"
        )
