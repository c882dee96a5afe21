"""How long a feed takes to be ready, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from steepwell.tell.wording import day_range
from steepwell.words.figures import day
from steepwell.words.saying import say

if TYPE_CHECKING:
    from datetime import date

WEEK_D = 7
# Two weeks are usual; from here on a gardener wonders what is wrong.
LONG_WEEKS = 3
MOST_IN_WORDS = 11


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
        return say("waiting.not-in-sight")
    first, middle, last = ready
    if first == last:
        about = say("waiting.ready", day=day(middle))
    else:
        about = say("waiting.ready-between", day=day(middle), days=day_range(first, last))
    return f"{about}{how_long(began, middle)}"


def how_long(began: date, ready: date) -> str:
    """Return how many weeks it takes from its start, nothing where that is usual."""
    weeks = round((ready - began).days / WEEK_D)
    if weeks < LONG_WEEKS:
        return ""
    number = say(f"weeks.{weeks}") if weeks <= MOST_IN_WORDS else f"{weeks}"
    return say("waiting.cool", weeks=number)
