"""Many calendar days at once: their months, and where in the year they lie."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from datetime import date

LEAP_YEAR_D = 366
# Position of 29 February in a leap year, counted from 0.
LEAP_DAY = 59

Days = NDArray[np.datetime64]
Positions = NDArray[np.int64]


def days_from(first: date, count: int) -> Days:
    """Return days in a row.

    Parameters
    ----------
    first
        The first of them.
    count
        How many [d].

    Returns
    -------
    array of datetime64[D]
        The days.
    """
    return np.datetime64(first, "D") + np.arange(count)


def months_of(days: Days) -> Positions:
    """Return the month of each day, 1 to 12."""
    return np.asarray(days.astype("datetime64[M]").astype(np.int64) % 12 + 1)


def days_of_year(days: Days) -> Positions:
    """Return the day of the year of each day, 1 on 1 January."""
    return np.asarray((days - days.astype("datetime64[Y]")).astype(np.int64) + 1)


def leap_positions(days: Days) -> Positions:
    """Return where each day lies in a leap year, 0 on 1 January: 1 March is 60 in any year."""
    from_0 = days_of_year(days) - 1
    return from_0 + (~_in_leap_year(days) & (from_0 >= LEAP_DAY))


def same_days(first_year: int, last_year: int) -> Days:
    """Return every calendar day in each of some years; 29 February is 1 March where it must be.

    Parameters
    ----------
    first_year, last_year
        The years, both included.

    Returns
    -------
    array of datetime64[D]
        The 366 days of a leap year in the rows, the years in the columns.
    """
    new_years = np.arange(first_year - 1970, last_year - 1969).astype("datetime64[Y]")
    begins = new_years.astype("datetime64[D]")
    position = np.arange(LEAP_YEAR_D)[:, None]
    after_begin = position - (~_in_leap_year(begins) & (position > LEAP_DAY))
    return np.asarray(begins + after_begin.astype("timedelta64[D]"))


def _in_leap_year(days: Days) -> NDArray[np.bool_]:
    year = days.astype("datetime64[Y]")
    length = (year + 1).astype("datetime64[D]") - year.astype("datetime64[D]")
    return np.asarray(length.astype(np.int64) == LEAP_YEAR_D)
