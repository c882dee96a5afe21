"""How figures, days and names are said to a gardener: litres to two figures, dates as ranges."""

from __future__ import annotations

import re
from datetime import timedelta
from functools import lru_cache
from math import floor
from typing import TYPE_CHECKING

from steepwell.words.figures import (
    day,
    joined,
    month_name,
    spoken,
    two_figures,
    weekday,
    weekday_name,
)
from steepwell.words.saying import say, say_count

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

DAYS_A_WEEK, MONTHS_A_YEAR = 7, 12
# Below this, two figures of litres and half a millilitre are false precision.
_FEW = 10
_UNITS = r"L|mL|mm|cm|°C|gal|fl\soz|sq\sft|lb|°F"


def in_hand(amount_l: float, capacity_l: float) -> str:
    """Return what is there beside what there is room for.

    Parameters
    ----------
    amount_l
        What is there [L].
    capacity_l
        What the butts hold, which is on their labels and so told to the litre [L].

    Returns
    -------
    str
        For instance "310 of 630 L" [L].
    """
    there_l = min(amount_l, capacity_l)
    amount = two_figures(there_l if there_l >= _FEW else round(there_l))
    if round(amount_l) >= round(capacity_l):
        amount = f"{capacity_l:,.0f}"
    return say("wording.in-hand", amount=amount, capacity=f"{capacity_l:,.0f}")


def cans(count: float) -> str:
    """Return a number of cans, with half cans as halves.

    Parameters
    ----------
    count
        Cans, whole or half [-].

    Returns
    -------
    str
        For instance "half a can", "1 can" or "2½ cans".
    """
    halves = round(2 * count)
    if halves == 1:
        return say("wording.half-a-can")
    return say_count("wording.cans", halves / 2, amount=can_figure(count))


def can_figure(count: float) -> str:
    """Return a number of cans as a figure: "½", "1" or "2½"."""
    whole, half = divmod(round(2 * count), 2)
    return f"{whole or ''}{'½' if half else ''}"


def feed_measure(feed_ml: float, said: str | None, *, in_spoons: bool) -> str:
    """Return the amount of feed as the gardener measures it.

    Parameters
    ----------
    feed_ml
        Undiluted feed [mL].
    said
        The same as it is measured, or None where there is only the figure.
    in_spoons
        Whether that is in spoons, beside which millilitres are a help.

    Returns
    -------
    str
        For instance "2 tablespoons (30 mL)" or "160 mL".
    """
    if said is not None and not in_spoons:
        return said
    # Never more than it is: half a millilitre is nothing beside a tablespoon.
    told_ml = floor(feed_ml) if feed_ml >= _FEW else feed_ml
    amount = say("wording.millilitres", amount=f"{told_ml:,.1f}".removesuffix(".0"))
    return amount if said is None else say("wording.spoons", spoons=said, amount=amount)


def day_range(first: date, last: date) -> str:
    """Return two days as "18 July to 8 August", "2 to 8 June", or one day where they are one."""
    if first == last:
        return day(first)
    if (first.year, first.month) == (last.year, last.month):
        return say("wording.days-of-a-month", first=first.day, last=day(last))
    return say("wording.days", first=day(first), last=day(last))


def every_day() -> str:
    """Return "every day"."""
    return say("wording.every-day")


def is_whole_week(days: Sequence[date]) -> bool:
    """Return whether days are all seven of some week."""
    each = set(days)
    return len(each) == DAYS_A_WEEK and max(each) - min(each) == timedelta(days=6)


def days_listed(days: Sequence[date], *, in_short: bool = False) -> str:
    """Return some days of a week as "Tuesday 3 and Friday 6 June", or "every day" for all seven.

    Parameters
    ----------
    days
        The days.
    in_short
        Whether the month goes without saying.
    """
    in_order = sorted(set(days))
    if is_whole_week(days):
        return every_day()
    without = [
        say("figures.weekday", weekday=weekday_name(each), day=each.day) for each in in_order
    ]
    if in_short:
        return joined(without)
    if len({(each.year, each.month) for each in in_order}) > 1:
        return joined([weekday(each) for each in in_order])
    return joined([*without[:-1], *(weekday(each) for each in in_order[-1:])])


def joined_in_short(words: Sequence[str], most: int) -> str:
    """Return words joined, the last ones counted where there are more than ``most``."""
    if len(words) <= most:
        return joined(words)
    return joined([*words[: most - 1], say("wording.more", count=len(words) - most + 1)])


def the_butt(name: str) -> str:
    """Return a butt as it is said: "the north butt"."""
    return _the(name, say("wording.butt", name=spoken(name)), say("wording.butts-called"))


def the_vessel(name: str) -> str:
    """Return a vessel as it is said: "the leek vessel"."""
    return _the(name, say("wording.vessel", name=spoken(name)), say("wording.vessels-called"))


def vessel_named(name: str) -> str:
    """Return a vessel as it is headed: "Leek vessel"."""
    full = say("wording.vessel", name=spoken(name))
    return _known_by(name, full, say("wording.vessels-called")).capitalize()


def the_roof(name: str) -> str:
    """Return a roof as it is said: "the shed roof"."""
    return _the(name, say("wording.roof", name=spoken(name)), say("wording.roofs-called"))


def _the(name: str, full: str, called: str) -> str:
    """Return a thing with its article, without one where the name is its kind and a number."""
    if spoken(name).split()[0] == called.split(maxsplit=1)[0]:
        return spoken(name)
    return say("wording.the", name=_known_by(name, full, called))


def _known_by(name: str, full: str, called: str) -> str:
    """Return a name alone if it says of which kind the thing is, else in full."""
    return spoken(name) if {*called.split()} & {*spoken(name).split()} else full


def sentence(text: str) -> str:
    """Return text with a capital and a full stop, whatever it came with."""
    stripped = text.strip()
    if not stripped:
        return ""
    ended = stripped if stripped[-1] in ".?:" else f"{stripped}."
    return ended[0].upper() + ended[1:]


def named(name: str, said: str) -> str:
    """Return "Beans: in flower." from a name of the garden file and what is said of it."""
    if ": " in said:
        return f"{sentence(spoken(name))} {sentence(said)}"
    return sentence(say("wording.named", name=spoken(name), said=said))


def tied(text: str) -> str:
    """Return text in which no line breaks between a number and what it counts."""
    months = [month_name(number) for number in range(1, MONTHS_A_YEAR + 1)]
    return _ties((*say("wording.tied").split(), *months)).sub("\u00a0", text)


@lru_cache(maxsize=2)
def _ties(counted: tuple[str, ...]) -> re.Pattern[str]:
    words = "|".join((_UNITS, *map(re.escape, counted)))
    return re.compile(rf"(?<=[\d½]) (?=(?:{words})\b|%)")
