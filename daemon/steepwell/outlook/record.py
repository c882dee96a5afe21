"""The daily weather record of a place: read from its CSV file, and added to as it is observed."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from steepwell.errors import WeatherRecordError
from steepwell.outlook.bridging import (
    LONGEST_INTERPOLATED_D,
    MOST_MISSING,
    Gap,
    bridge,
    gaps,
    same_day,
)
from steepwell.outlook.days import LEAP_YEAR_D, days_from, same_days
from steepwell.outlook.record_file import read_rows

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from steepwell.outlook.normals import DailyNormals
    from steepwell.outlook.observed import Observed
    from steepwell.outlook.record_file import Row, Rows

SHORTEST_YEARS = 10
NORMAL_HALF_WINDOW_D = 7
LEAP_YEAR = 2000
MOST_GAPS_TOLD = 5

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
    bridged
        Days that were filled in because the file lacks them.
    normals
        Monthly normals of the place, or None; they stand in while the record is short.
    read_as
        Which columns were taken for what, where the file has names of its own.
    """

    first: date
    rain_mm: Days
    tmin_c: Days
    tmax_c: Days
    et0_mm: Days
    bridged: tuple[Gap, ...] = ()
    normals: DailyNormals | None = None
    read_as: str = ""

    @property
    def days(self) -> int:
        """Length of the axis [d]."""
        return len(self.rain_mm)

    @property
    def years(self) -> int:
        """Calendar years with at least one complete day."""
        whole = ~np.isnan(self.rain_mm + self.tmin_c + self.tmax_c)
        day = np.datetime64(self.first) + np.arange(self.days)
        return len(np.unique(day[whole].astype("datetime64[Y]")))

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
            record has none. Those of the normals, if there are any, while the record has fewer
            than ten years.
        """
        return _normal(self, day)

    def usual_c(self) -> Days:
        """Return what ``normal`` says of Tmin and Tmax, for all days of a leap year [°C]."""
        if self.normals is not None and self.years < SHORTEST_YEARS:
            days = days_from(date(LEAP_YEAR, 1, 1), LEAP_YEAR_D).tolist()
            return np.array([self.normals.normal(day)[1:] for day in days])
        years = self._calendar_years()
        centres = same_days(years[0], years[-1]) - np.datetime64(self.first)
        spread = np.arange(-NORMAL_HALF_WINDOW_D, NORMAL_HALF_WINDOW_D + 1)
        near = (centres.astype(np.int64)[:, :, None] + spread).reshape(LEAP_YEAR_D, -1)
        there = (near >= 0) & (near < self.days)
        extremes = np.stack([self.tmin_c, self.tmax_c])[:, np.where(there, near, 0)]
        known = there & ~np.isnan(extremes)
        total, count = np.where(known, extremes, 0.0).sum(axis=2), known.sum(axis=2)
        return np.where(count > 0, total / np.maximum(count, 1), np.nan).T

    def _calendar_years(self) -> range:
        last = self.first + timedelta(days=self.days - 1)
        return range(self.first.year, last.year + 1)


@lru_cache(maxsize=1000)
def _normal(record: Record, day: date) -> tuple[float, float, float]:
    if record.normals is not None and record.years < SHORTEST_YEARS:
        return record.normals.normal(day)
    near = record.around(day)
    columns = (record.rain_mm, record.tmin_c, record.tmax_c)
    rain, tmin, tmax = (_mean(column[near]) for column in columns)
    return rain, tmin, tmax


def _mean(values: Days) -> float:
    known = values[~np.isnan(values)]
    return float(known.mean()) if len(known) else math.nan


def read_record(path: Path) -> Record:
    """Read a weather record.

    Parameters
    ----------
    path
        CSV with a header ``date,rain_mm,tmin_c,tmax_c``, perhaps ``et0_mm`` too, or that of a
        weather service, and one row a day.

    Returns
    -------
    Record
        Read once a file and version of it, with the days filled in that it lacks.

    Raises
    ------
    WeatherRecordError
        If the file cannot be used, or lacks more than a tenth of its days; the message names the
        lines.
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
    return _without_gaps(path, read_rows(path))


def _without_gaps(path: Path, read: Rows) -> Record:
    rows = read.days
    first, last = min(rows), max(rows)
    axis = np.full((4, last - first + 1), np.nan)
    for day, row in rows.items():
        axis[:, day - first] = row.values
    lacking = np.isnan(axis[:3]).any(axis=0)
    missing = list(_with_lines(gaps(lacking, date.fromordinal(first)), rows))
    known_d, missing_d = int((~lacking).sum()), sum(gap.days for gap in missing)
    if missing_d > MOST_MISSING * (known_d + missing_d):
        raise WeatherRecordError(
            f"{path}: {missing_d:,} of {known_d + missing_d:,} days are missing, first "
            f"{missing[0]}; a tenth at most is filled in, so complete the record or take one of "
            "another place near by"
        )
    bridged = tuple(bridge(date.fromordinal(first), axis[:3], missing))
    rain, tmin, tmax, et0 = axis
    return Record(date.fromordinal(first), rain, tmin, tmax, et0, bridged, read_as=read.read_as)


def _with_lines(missing: Iterator[Gap], rows: dict[int, Row]) -> Iterator[Gap]:
    """Yield gaps with the line of the first row that is there, in the gap or after it."""
    for gap in missing:
        begin = gap.first.toordinal()
        there = next((day for day in range(begin, begin + gap.days + 1) if day in rows), None)
        yield replace(gap, line=None if there is None else rows[there].line)


def record_remarks(record: Record) -> list[str]:
    """Return what the gardener should know of a record: what was filled in, and what it lacks."""
    remarks = []
    if record.read_as:
        remarks.append(f"The weather record is read so: {record.read_as}.")
    if record.bridged:
        count = sum(gap.days for gap in record.bridged)
        days = "1 missing day" if count == 1 else f"{count:,} missing days"
        told = [str(gap) for gap in record.bridged[:MOST_GAPS_TOLD]]
        more = len(record.bridged) - len(told)
        told += [f"and {more} more gaps"] if more else []
        remarks.append(f"The weather record has {days} filled in: {', '.join(told)}.")
    if record.years < SHORTEST_YEARS:
        instead = (
            "the weeks ahead are made from the normals."
            if record.normals
            else "there will be no outlook without monthly normals or a longer record."
        )
        remarks.append(f"The weather record has fewer than {SHORTEST_YEARS} years: {instead}")
    return remarks


def extend_record(record: Record, observed: Observed) -> Record:
    """Return a record with the days that were observed since its end.

    A day counts if rain and both extremes are known. Gaps of up to three days among them are
    filled like those of the record; longer ones stay, and no future crosses them.

    Parameters
    ----------
    record
        What is known so far, perhaps nothing but normals.
    observed
        The garden's own weather, not filled up from any record.

    Returns
    -------
    Record
        The same one if there is nothing to add.
    """
    own = np.array([observed.rain_mm, observed.tmin_c, observed.tmax_c])
    own[:, np.isnan(own).any(axis=0)] = np.nan
    first = record.first if record.days else observed.first
    begin = (observed.first - first).days
    own = own[:, max(record.days - begin, 0) :]
    begin = max(begin, record.days)
    whole = np.flatnonzero(~np.isnan(own[0]))
    if not len(whole):
        return record
    axis = np.full((4, begin + int(whole[-1]) + 1), np.nan)
    axis[:, : record.days] = record.rain_mm, record.tmin_c, record.tmax_c, record.et0_mm
    axis[:3, begin:] = own[:, : whole[-1] + 1]
    short = [
        gap
        for gap in gaps(np.isnan(axis[:3]).any(axis=0), first)
        if gap.days <= LONGEST_INTERPOLATED_D and (gap.first - first).days >= record.days
    ]
    filled = bridge(first, axis[:3], short)
    rain, tmin, tmax, et0 = axis
    bridged = (*record.bridged, *filled)
    return Record(first, rain, tmin, tmax, et0, bridged, record.normals, record.read_as)
