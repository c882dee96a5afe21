"""How long a feed takes to be ready, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from steepwell.tell.wording import day_range
from steepwell.words.figures import day

if TYPE_CHECKING:
    from datetime import date

WEEK_D = 7
# Two weeks are usual; from here on a gardener wonders what is wrong.
LONG_WEEKS = 3
_NUMBERS = ("two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven")


def the_wait(began: date, ready: tuple[date, date, date] | None) -> str:
    """Return when a feed will be ready, and why that is long if it is.

    Parameters
    ----------
    began
        The day its matter went in.
    ready
        By when it is ready early, likely and late; None if it is not in the weeks looked at.

    Returns
    -------
    str
        Such as "ready about 5 April (2 to 9 April); while it is cool it takes five weeks, in a
        warm month two".
    """
    if ready is None:
        return "not ready in the weeks looked at; it hardly ages while it is cold"
    first, middle, last = ready
    span = f" ({day_range(first, last)})" if first != last else ""
    return f"ready about {day(middle)}{span}{how_long(began, middle)}"


def how_long(began: date, ready: date) -> str:
    """Return how many weeks it takes from its start, nothing where that is usual."""
    weeks = round((ready - began).days / WEEK_D)
    if weeks < LONG_WEEKS:
        return ""
    number = _NUMBERS[weeks - 2] if weeks - 2 < len(_NUMBERS) else str(weeks)
    return f"; while it is cool it takes {number} weeks, in a warm month two"
