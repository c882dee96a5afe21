"""How amounts, days and names are said, wherever something is said: litres to two figures."""

from __future__ import annotations

from typing import TYPE_CHECKING

from steepwell.words.saying import say

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date, datetime

_FEW_L = 10


def litres(amount_l: float) -> str:
    """Return an amount of water to two figures.

    Parameters
    ----------
    amount_l
        The amount [L].

    Returns
    -------
    str
        For instance "310 L", "4.5 L" or "1,400 L" [L].
    """
    return say("figures.litres", amount=two_figures(amount_l))


def two_figures(amount_l: float) -> str:
    """Return an amount as ``litres`` does, without its unit.

    Parameters
    ----------
    amount_l
        The amount [L].

    Returns
    -------
    str
        For instance "310", "4.5" or "1,400" [L].
    """
    if abs(amount_l) < _FEW_L:
        return f"{amount_l:z.1f}".removesuffix(".0")
    return f"{float(f'{amount_l:.2g}'):,.0f}"


def month_name(number: int) -> str:
    """Return the name of a month, from 1 to 12."""
    return say(f"months.{number}")


def weekday_name(when: date) -> str:
    """Return the name of the day of the week."""
    return say(f"weekdays.{when.isoweekday()}")


def day(when: date) -> str:
    """Return a day as "9 July"."""
    return say("figures.day", day=when.day, month=month_name(when.month))


def short_day(when: date) -> str:
    """Return a day as "9 Jul", for the axis of a chart."""
    return say("figures.day", day=when.day, month=say(f"short-months.{when.month}"))


def weekday(when: date) -> str:
    """Return a day as "Tuesday 3 June"."""
    return say("figures.weekday", weekday=weekday_name(when), day=day(when))


def moment(when: datetime) -> str:
    """Return a moment as "9 July at 14:05", in the zone it comes in."""
    return say("figures.moment", day=day(when), time=f"{when:%H:%M}")


def joined(words: Sequence[str]) -> str:
    """Return words as "beans, peas and leeks"."""
    if len(words) <= 1:
        return "".join(words)
    return say("figures.joined", before=listed(words[:-1]), last=words[-1])


def listed(words: Sequence[str]) -> str:
    """Return words as "beans, peas, leeks"."""
    return say("figures.between").join(words)


def strung(said: Sequence[str]) -> str:
    """Return half sentences as one: "due; pick nothing there before 9 July"."""
    return say("figures.strung").join(said)


def spoken(name: str) -> str:
    """Return a name of the garden file as it is said: "north-bed" is "north bed"."""
    return name.replace("-", " ")
