"""Fills the gaps of a daily record, as long as they are few, and says which."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from collections.abc import Iterator

# A record may lack up to this share of its days, years that it does not have left out.
MOST_MISSING = 0.1
# Temperatures of a gap as long as this follow from the days on both sides of it.
LONGEST_INTERPOLATED_D = 3
# A gap of a year is a year that the record does not have, and stays so.
YEAR_D = 365

Days = NDArray[np.float64]
Marks = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Gap:
    """Days in a row that lack rain or temperature.

    Attributes
    ----------
    first
        The first of them.
    days
        How many [d].
    line
        Where it is noticed in the file, or None.
    """

    first: date
    days: int
    line: int | None = None

    def __str__(self) -> str:
        """Return the gap in words."""
        last = self.first + timedelta(days=self.days - 1)
        dates = f"{self.first}" if self.days == 1 else f"{self.first} to {last}"
        return dates if self.line is None else f"{dates} (line {self.line})"


def gaps(lacking: Marks, first: date) -> Iterator[Gap]:
    """Yield the gaps of less than a year.

    Parameters
    ----------
    lacking
        Whether a day lacks something.
    first
        The first day.

    Yields
    ------
    Gap
        In the order of time.
    """
    edges = np.diff(lacking.astype(np.int8), prepend=0, append=0)
    for start, end in zip(np.flatnonzero(edges == 1), np.flatnonzero(edges == -1), strict=True):
        if end - start < YEAR_D:
            yield Gap(first + timedelta(days=int(start)), int(end - start))


def bridge(first: date, columns: Days, missing: list[Gap]) -> list[Gap]:
    """Fill gaps in place.

    Rain is taken from the same calendar days of the nearest year that has all of them, so that
    wet days stay as many as they are: days without rain would make the place drier than it is.
    Temperatures of one to three days lie on the line between the days before and after, the mean
    of both for a single day; those of longer gaps come from the year that gives the rain.

    Parameters
    ----------
    first
        The first day.
    columns
        Rain, Tmin and Tmax day by day, NaN where not known; (3, days) [mm, °C, °C].
    missing
        The gaps to fill.

    Returns
    -------
    list of Gap
        Those that were filled; the others have no other year to be filled from.
    """
    known = columns.copy()
    filled = []
    for gap in missing:
        begin = (gap.first - first).days
        span = slice(begin, begin + gap.days)
        other = _other_year(known, first, gap)
        if other is None:
            continue
        stand_in = known[:, other].copy()
        if gap.days <= LONGEST_INTERPOLATED_D:
            _interpolate(known, span, stand_in)
        lacking = np.isnan(columns[:, span])
        columns[:, span][lacking] = stand_in[lacking]
        _keep_in_order(columns[:, span], lacking)
        filled.append(gap)
    return filled


def _other_year(known: Days, first: date, gap: Gap) -> slice | None:
    """Return where the same calendar days of the nearest year stand that has them all."""
    last_year = (first + timedelta(days=known.shape[1] - 1)).year
    years = [year for year in range(first.year, last_year + 1) if year != gap.first.year]
    for year in sorted(years, key=lambda year: abs(year - gap.first.year)):
        start = (same_day(gap.first, year) - first).days
        if start < 0 or start + gap.days > known.shape[1]:
            continue
        if not np.isnan(known[:, start : start + gap.days]).any():
            return slice(start, start + gap.days)
    return None


def _interpolate(known: Days, span: slice, stand_in: Days) -> None:
    """Put temperatures on the line between the neighbours, where both have them."""
    before, after = span.start - 1, span.stop
    if before < 0 or after >= known.shape[1]:
        return
    steps = np.arange(1, span.stop - span.start + 1) / (span.stop - span.start + 1)
    for row in (1, 2):
        line = known[row, before] + steps * (known[row, after] - known[row, before])
        stand_in[row] = np.where(np.isnan(line), stand_in[row], line)


def _keep_in_order(days: Days, lacking: Marks) -> None:
    """Keep a filled Tmin from standing above a known Tmax, and the other way round."""
    _, tmin, tmax = days
    tmin[:] = np.where(lacking[1], np.minimum(tmin, tmax), tmin)
    tmax[:] = np.maximum(tmin, tmax)


def same_day(day: date, year: int) -> date:
    """Return the same calendar day in another year; 29 February becomes 1 March if it must."""
    try:
        return day.replace(year=year)
    except ValueError:
        return date(year, 3, 1)
