"""The daily weather record of a place, read from its CSV file."""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from steepwell.errors import WeatherRecordError

if TYPE_CHECKING:
    from pathlib import Path

COLUMNS = ("date", "rain_mm", "tmin_c", "tmax_c")
ET0_COLUMN = "et0_mm"
SHORTEST_YEARS = 10
NORMAL_HALF_WINDOW_D = 7

Days = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Record:
    """Daily rain and temperature extremes, one entry a day without gaps in the axis.

    Attributes
    ----------
    first
        The first day.
    rain_mm, tmin_c, tmax_c, et0_mm
        One value a day, NaN where the record has none [mm, °C, °C, mm].
    """

    first: date
    rain_mm: Days
    tmin_c: Days
    tmax_c: Days
    et0_mm: Days

    @property
    def days(self) -> int:
        """Length of the axis [d]."""
        return len(self.rain_mm)

    @property
    def years(self) -> int:
        """Calendar years with at least one complete day."""
        whole = ~np.isnan(self.rain_mm + self.tmin_c + self.tmax_c)
        return len({(self.first + timedelta(days=int(day))).year for day in np.flatnonzero(whole)})

    def around(self, day: date) -> NDArray[np.intp]:
        """Return the positions of all days within a week of a calendar day, in every year."""
        centres = np.array(
            [(same_day(day, year) - self.first).days for year in self._calendar_years()]
        )
        spread = np.arange(-NORMAL_HALF_WINDOW_D, NORMAL_HALF_WINDOW_D + 1)
        positions = (centres[:, None] + spread).ravel()
        return positions[(positions >= 0) & (positions < self.days)]

    def normal(self, day: date) -> tuple[float, float, float]:
        """Return what is usual on a calendar day.

        Parameters
        ----------
        day
            The day.

        Returns
        -------
        tuple of float
            Mean rain [mm], mean Tmin [°C], mean Tmax [°C] within a week of it; NaN where the
            record has none.
        """
        return _normal(self, day)

    def _calendar_years(self) -> range:
        last = self.first + timedelta(days=self.days - 1)
        return range(self.first.year, last.year + 1)


@lru_cache(maxsize=1000)
def _normal(record: Record, day: date) -> tuple[float, float, float]:
    near = record.around(day)
    columns = (record.rain_mm, record.tmin_c, record.tmax_c)
    rain, tmin, tmax = (_mean(column[near]) for column in columns)
    return rain, tmin, tmax


def _mean(values: Days) -> float:
    known = values[~np.isnan(values)]
    return float(known.mean()) if len(known) else math.nan


def same_day(day: date, year: int) -> date:
    """Return the same calendar day in another year; 29 February becomes 1 March if it must."""
    try:
        return day.replace(year=year)
    except ValueError:
        return date(year, 3, 1)


def read_record(path: Path) -> Record:
    """Read a weather record.

    Parameters
    ----------
    path
        CSV with a header ``date,rain_mm,tmin_c,tmax_c``, perhaps ``et0_mm`` too, and one row a
        day.

    Returns
    -------
    Record
        Read once a file and version of it.

    Raises
    ------
    WeatherRecordError
        If the file cannot be used; the message names the line.
    """
    try:
        changed_ns = path.stat().st_mtime_ns
    except OSError:
        raise WeatherRecordError(
            f"{path}: no weather record there; name one under [weather_record] as daily"
        ) from None
    return _read(path, changed_ns)


@lru_cache(maxsize=2)
def _read(path: Path, _changed_ns: int) -> Record:
    try:
        with path.open(newline="", encoding="utf-8-sig") as file:
            rows = _rows(path, csv.DictReader(file))
    except (OSError, UnicodeDecodeError, csv.Error):
        raise WeatherRecordError(f"{path}: cannot be read; wanted a CSV file in UTF-8") from None
    if not rows:
        raise WeatherRecordError(f"{path}: no days in it; wanted one row a day")
    return _on_an_axis(rows)


def _rows(path: Path, reader: csv.DictReader[str]) -> dict[int, tuple[float, ...]]:
    missing = [name for name in COLUMNS if name not in (reader.fieldnames or ())]
    if missing:
        raise WeatherRecordError(
            f"{path}: line 1: no column {', '.join(missing)}; wanted {','.join(COLUMNS)}"
        )
    rows: dict[int, tuple[float, ...]] = {}
    for row in reader:
        day, values = _row(path, reader.line_num, row)
        if day in rows:
            raise WeatherRecordError(
                f"{path}: line {reader.line_num}: {row['date']} a second time; keep one of them"
            )
        rows[day] = values
    return rows


def _row(path: Path, line: int, row: dict[str, str]) -> tuple[int, tuple[float, ...]]:
    try:
        day = date.fromisoformat(row["date"]).toordinal()
        names = (*COLUMNS[1:], ET0_COLUMN)
        rain, tmin, tmax, et0 = (_number(row.get(name)) for name in names)
    except (ValueError, TypeError):
        raise WeatherRecordError(
            f"{path}: line {line}: cannot be read; wanted {','.join(COLUMNS)}, "
            "dates like 1976-06-01"
        ) from None
    if rain < 0:
        raise WeatherRecordError(f"{path}: line {line}: rain of {rain} mm; wanted 0 or more")
    if tmin > tmax:
        raise WeatherRecordError(f"{path}: line {line}: tmin_c {tmin} above tmax_c {tmax}")
    return day, (rain, tmin, tmax, et0)


def _number(text: str | None) -> float:
    value = float(text) if text else math.nan
    if math.isinf(value):
        raise ValueError(text)
    return value


def _on_an_axis(rows: dict[int, tuple[float, ...]]) -> Record:
    first, last = min(rows), max(rows)
    axis = np.full((4, last - first + 1), np.nan)
    for day, values in rows.items():
        axis[:, day - first] = values
    return Record(date.fromordinal(first), *axis)
