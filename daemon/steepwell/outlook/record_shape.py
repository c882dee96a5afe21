"""How a daily weather record is written: its heading, what parts it, its days and numbers."""

from __future__ import annotations

import csv
import math
import re
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

from steepwell.outlook.record_headings import (
    COLUMNS,
    RAIN_UNITS,
    Heading,
    Places,
    heading,
    places,
    to_celsius,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

DELIMITERS = (",", ";", "\t", "|")
# So far down is a heading looked for; what stands above it is about the station.
HEADING_WITHIN = 100
# Common practice, no source: what stands where nothing was measured, and where rain wetted nothing.
MISSING = frozenset(
    {"", "-", "--", "---", "...", "na", "n/a", "nan", "null", "none", "x", "m"}
    | {"-9999", "-999", "-999.9", "-99.9", "-99", "9999", "99999", "999.9"}
)
TRACES = frozenset({"t", "tr", "trace", "ip"})
# Whole numbers beyond this are tenths of degrees: no air has so many degrees, of either kind.
TENTHS_ABOVE, WARMEST = 140.0, 60.0
MONTH_NAMES = (
    *("jan", "feb", "mar", "apr", "may", "jun"),
    *("jul", "aug", "sep", "oct", "nov", "dec"),
)
_OWN = re.compile(r"\d{4}-\d{2}-\d{2}")
_YEAR_FIRST = re.compile(r"(\d{4})[-/.]?(\d{2})[-/.]?(\d{2})(?:[T ].*)?")
_DAY_OR_MONTH_FIRST = re.compile(r"(\d{1,2})([-/.])(\d{1,2})\2(\d{4})(?: .*)?")
_NAMED_MONTH = re.compile(r"(\d{1,2})[- ]([a-z]{3})[a-z]*[- ](\d{4})", re.IGNORECASE)


@dataclass(frozen=True)
class Shape:
    """How a file is written.

    Attributes
    ----------
    line
        The line of its heading.
    delimiter
        What parts its columns.
    headings, places
        What they are called, and which is which.
    """

    line: int
    delimiter: str
    headings: tuple[Heading, ...]
    places: Places

    @cached_property
    def is_own(self) -> bool:
        """Whether the file has the names of the project's own records."""
        return {one.says for one in self.headings}.issuperset(COLUMNS)

    def values(self, cells: Sequence[str]) -> tuple[float, ...]:
        """Return rain, Tmin, Tmax and ET0 as they stand there, NaN where nothing was measured.

        Raises
        ------
        ValueError
            If one of them is no number.
        """
        _, rain, tmin, tmax, et0 = self.places
        fallen = "0" if self._is_trace(cells[rain]) else cells[rain]
        evaporated = "" if et0 is None else cells[et0]
        numbers = map(self._number, (fallen, cells[tmin], cells[tmax], evaporated))
        return tuple(numbers)

    def _is_trace(self, cell: str) -> bool:
        return not self.is_own and cell.strip().lower() in TRACES

    def _number(self, cell: str) -> float:
        text = cell if self.delimiter == "," else cell.replace(",", ".")
        if not text or (not self.is_own and _is_missing(text.strip())):
            return math.nan
        value = float(text)
        if math.isinf(value):
            raise ValueError(text)
        return value

    def called(self) -> tuple[str, ...]:
        """Return what day, rain, Tmin and Tmax are called in the file."""
        day = "-".join(self.headings[at].says for at in self.places.day)
        rain, tmin, tmax = self.places.rain, self.places.tmin, self.places.tmax
        return (day, *(self.headings[at].says for at in (rain, tmin, tmax)))


def _is_missing(text: str) -> bool:
    plain = text.lower()
    return plain in MISSING or plain.removesuffix(".0") in MISSING


def shape_of(lines: Sequence[str]) -> Shape | tuple[int, tuple[str, ...], tuple[str, ...]]:
    """Return how a file is written.

    Parameters
    ----------
    lines
        All of it.

    Returns
    -------
    Shape or tuple
        Or the line that is likest to a heading, what it lacks, and what is there.
    """
    nearest: tuple[int, tuple[str, ...], tuple[str, ...]] = (1, COLUMNS, ())
    for number, line in enumerate(lines[:HEADING_WITHIN], start=1):
        delimiter = max(DELIMITERS, key=line.count)
        headings = tuple(
            heading(cell) for cell in next(csv.reader([line], delimiter=delimiter), ())
        )
        found = places(headings)
        if isinstance(found, Places):
            return Shape(number, delimiter, headings, found)
        if len(found) < len(nearest[1]) or (len(found) == len(nearest[1]) and not nearest[2]):
            nearest = number, found, tuple(one.says for one in headings if one.says)
    return nearest


def days_of(written: Sequence[str]) -> Callable[[str], date]:
    """Return what makes a day of a cell, as all days of the file are written.

    Parameters
    ----------
    written
        The day of each row.

    Returns
    -------
    callable
        It raises ``ValueError`` where a cell is no day.

    Raises
    ------
    ValueError
        If it cannot be told whether day or month comes first.
    """
    known = (_YEAR_FIRST, _NAMED_MONTH, _DAY_OR_MONTH_FIRST)
    some = next((cell.strip() for cell in written if cell.strip()), "")
    pattern = next((one for one in known if one.fullmatch(some)), _YEAR_FIRST)
    if _OWN.fullmatch(some):
        return date.fromisoformat
    if pattern is _YEAR_FIRST:
        return lambda cell: _date(pattern, cell, (1, 2, 3))
    if pattern is _NAMED_MONTH:
        return lambda cell: _date(pattern, cell, (3, 2, 1))
    parted = [found for cell in written if (found := pattern.fullmatch(cell.strip()))]
    month_first = any(int(found[3]) > len(MONTH_NAMES) for found in parted)
    day_first = any(int(found[1]) > len(MONTH_NAMES) for found in parted)
    # With points the day comes first everywhere.
    if parted[0][2] != "." and day_first == month_first:
        raise ValueError(
            f"dates like {some}, of which nobody can tell day and month; wanted 1976-06-01"
        )
    return lambda cell: _date(pattern, cell, (4, 1, 3) if month_first else (4, 3, 1))


def _date(pattern: re.Pattern[str], cell: str, order: tuple[int, int, int]) -> date:
    found = pattern.fullmatch(cell.strip())
    if found is None:
        raise ValueError(cell)
    year, month, day = (found[at] for at in order)
    named = month.lower()
    number = int(month) if month.isdigit() else 1 + MONTH_NAMES.index(named)
    return date(int(year), number, int(day))


class Units(NamedTuple):
    """By what rain is to be multiplied, and factor and offset of Tmin and of Tmax."""

    rain: float
    tmin: tuple[float, float]
    tmax: tuple[float, float]

    def turned(self, values: Sequence[float]) -> tuple[float, ...]:
        """Return rain, Tmin, Tmax and ET0 in mm and °C."""
        rain, tmin, tmax, et0 = values
        # In tenths, what only wetted the gauge stands as minus one in some files.
        fallen = 0.0 if self.rain < 1.0 and rain == -1.0 else rain * self.rain
        low, high = tmin * self.tmin[0] + self.tmin[1], tmax * self.tmax[0] + self.tmax[1]
        return round(fallen, 3), round(low, 3), round(high, 3), round(et0 * self.rain, 3)


def units_of(shape: Shape, most_c: float, *, whole: bool) -> Units:
    """Return the units of a file.

    Parameters
    ----------
    shape
        Its headings may name them.
    most_c
        The greatest number among the temperatures.
    whole
        Whether rain and temperatures are whole numbers, all of them.

    Returns
    -------
    Units
        Numbers without a unit are in mm and °C, or in tenths of them.

    Raises
    ------
    ValueError
        If a unit is not known, or numbers without one can be neither.
    """
    at = shape.places
    rain, tmin, tmax = (shape.headings[column] for column in (at.rain, at.tmin, at.tmax))
    tenths = not tmax.unit and whole and most_c > TENTHS_ABOVE
    if not (tmax.unit or tenths or most_c <= WARMEST):
        raise ValueError(
            f"{tmax.says} goes up to {most_c:g}, and its heading names no unit; write "
            f"{tmax.name}_c or {tmax.name}_f"
        )
    bare = 0.1 if tenths else 1.0
    factors: list[tuple[float, float]] = []
    for one in (tmin, tmax):
        known = to_celsius(one.unit) if one.unit else (bare, 0.0)
        if known is None:
            raise ValueError(f"{one.says} is in {one.unit}; wanted °C or °F")
        factors.append(known)
    if rain.unit and rain.unit not in RAIN_UNITS:
        raise ValueError(f"{rain.says} is in {rain.unit}; wanted mm")
    return Units(RAIN_UNITS[rain.unit] if rain.unit else bare, *factors)
