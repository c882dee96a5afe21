"""What people type: names, amounts, days and times, as they come to mind."""

from __future__ import annotations

import re
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING

from steepwell.garden.matter import BUCKET_L
from steepwell.garden.quantity import VOLUME, Kind, magnitude
from steepwell.words.figures import month_name

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

_COUNTS = {
    "a": 1, "an": 1, "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7,
    "eight": 8, "nine": 9, "ten": 10, "half a": 0.5,
}  # fmt: skip
_COUNTED = re.compile(rf"({'|'.join(_COUNTS)}|\d+(?:\.\d+)?)\s*(can|bucket)s?")
_DECIMAL_COMMA = re.compile(r"(?<![\d,.])(\d+),(\d{1,2})(?![\d,])")
_DAY_MONTH = re.compile(r"(\d{1,2})(?:st|nd|rd|th)?\.?\s*(?:of\s+)?([^\W\d]{3,})\.?(?:\s+(\d{4}))?")
_MONTH_DAY = re.compile(r"([^\W\d]{3,})\.?\s+(\d{1,2})(?:st|nd|rd|th)?,?(?:\s+(\d{4}))?")
_DOTTED = re.compile(r"(\d{1,2})\.\s*(\d{1,2})\.(?:\s*(\d{4}))?")
_NEAR = {"today": 0, "yesterday": -1, "tomorrow": 1}
# The years that a day without one may be of: the 29th of February comes every eighth at least.
_YEARS = range(-8, 9)
# What was a few weeks ago is meant rather than the same day of next year.
JUST_BEEN_D = 31
NOON = time(12)


def with_points(text: str) -> str:
    """Return a text in which "2,5" has become "2.5"; "1,500" may be either and stays."""
    return _DECIMAL_COMMA.sub(r"\1.\2", text)


def as_named(text: str) -> str:
    """Return a name as the garden file and the tables have it: "All of it" is "all-of-it"."""
    return "-".join(text.lower().split())


def amount_said(text: str, kind: Kind, can_l: float) -> float:
    """Return an amount.

    Parameters
    ----------
    text
        With its unit; a volume may be counted in cans or in buckets of ten litres.
    kind
        The kind of quantity wanted.
    can_l
        What the household's can holds [L].

    Returns
    -------
    float
        In the unit used inside.

    Raises
    ------
    ValueError
        If it cannot be read.
    """
    counted = _COUNTED.fullmatch(" ".join(with_points(text).lower().split()))
    if counted is None or kind is not VOLUME:
        return magnitude(with_points(text), kind)
    count = _COUNTS.get(counted[1])
    each_l = can_l if counted[2] == "can" else BUCKET_L
    return (float(counted[1]) if count is None else count) * each_l


def day_said(text: str, today: date, *, past: bool = False) -> date | None:
    """Return a day: "2031-05-03", "3 May", "May 3 2031", "3.5.", "yesterday".

    Parameters
    ----------
    text
        What was said.
    today
        The day on which it was.
    past
        Whether it has been: without a year it is then the last such day. Else it is the next one,
        or one that was a few weeks ago.

    Returns
    -------
    date or None
        None if it is no day.
    """
    said = " ".join(text.lower().split())
    if said in _NEAR:
        return today + timedelta(days=_NEAR[said])
    try:
        return date.fromisoformat(said)
    except ValueError:
        pass
    if found := _DAY_MONTH.fullmatch(said):
        day, month, year = found[1], _month(found[2]), found[3]
    elif found := _MONTH_DAY.fullmatch(said):
        day, month, year = found[2], _month(found[1]), found[3]
    elif found := _DOTTED.fullmatch(said):
        day, month, year = found[1], int(found[2]), found[3]
    else:
        return None
    if year:
        return _that_day(int(year), month, int(day))
    told = [_that_day(today.year + years, month, int(day)) for years in _YEARS]
    days = [each for each in told if each is not None]
    if past:
        return max((each for each in days if each <= today), default=None)
    return min((each for each in days if (today - each).days <= JUST_BEEN_D), default=None)


def _that_day(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None


def _month(word: str) -> int:
    names = [month_name(number).lower() for number in range(1, 13)]
    return next((at for at, name in enumerate(names, 1) if name.startswith(word)), 0)


def moment_said(text: str, now: datetime, zone: ZoneInfo) -> datetime | None:
    """Return when something was done: a time, or a day, of which it is noon.

    Parameters
    ----------
    text
        What was said; a time without a zone is that of the garden.
    now
        The moment.
    zone
        The garden's time zone.

    Returns
    -------
    datetime or None
        Aware, of today no later than now; None if it cannot be read.
    """
    here = now.astimezone(zone)
    told = day_said(text, here.date(), past=True)
    if told is not None:
        noon = datetime.combine(told, NOON, zone)
        return min(noon, here) if told == here.date() else noon
    try:
        moment = datetime.fromisoformat(text.strip())
    except ValueError:
        return None
    return moment if moment.tzinfo else moment.replace(tzinfo=zone)
