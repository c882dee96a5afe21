"""The subject of a letter: the one thing, then what to do."""

from __future__ import annotations

from typing import TYPE_CHECKING

from steepwell.tell.wording import joined_in_short, the_vessel
from steepwell.words.figures import day, listed, spoken
from steepwell.words.saying import say

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from steepwell.tell.documents import Plan

# What a phone shows of a subject; what goes beyond is left out, the least urgent first.
LONGEST_SUBJECT = 70
MOST_BEDS = 2


def letter_subject(plan: Plan, today: date, *, dry: bool, tap: bool, first: bool) -> str:
    """Return the subject of a letter.

    Parameters
    ----------
    plan
        What to do.
    today
        The local day of the letter.
    dry
        Whether the butts are as good as dry.
    tap
        Whether there may be tap water instead.
    first
        Whether it is the garden's first week.

    Returns
    -------
    str
        For instance "Water to about 22 July. Soak beans, feed leeks".
    """
    head = _water(plan, today, dry=dry, first=first)
    todo = _todo(plan) or [_otherwise(plan, dry=dry, tap=tap)]
    while len(todo) > 1 and len(_both(head, todo)) > LONGEST_SUBJECT:
        todo.pop()
    return _both(head, todo)


def _both(head: str, todo: Sequence[str]) -> str:
    said = listed(todo)
    return say("subject.both", head=head, todo=f"{said[0].upper()}{said[1:]}")


def _water(plan: Plan, today: date, *, dry: bool, first: bool) -> str:
    if dry:
        return say("subject.dry")
    if plan.lasts_to is None:
        return say("subject.first-week" if first else "subject.nothing-known")
    if plan.lasts_to.p10 is None:
        return say("subject.no-dry-day")
    if plan.lasts_to.p50 is None:
        return say("subject.or-longer", day=day(plan.lasts_to.p10))
    if plan.lasts_to.p50 <= today:
        return say("subject.short")
    return say("subject.to-about", day=day(plan.lasts_to.p50))


def _otherwise(plan: Plan, *, dry: bool, tap: bool) -> str:
    if plan.watered:
        return say("subject.trays-and-pots")
    if dry and plan.left_dry:
        return say("subject.from-the-tap" if tap else "subject.until-it-rains")
    return say("subject.nothing-to-do")


def _todo(plan: Plan) -> list[str]:
    soaked = [spoken(line.bed) for line in plan.watered if not line.daily_l]
    fed = list(dict.fromkeys(spoken(line.bed) for line in plan.feed))
    filled = [the_vessel(line.name) for line in plan.vessels if line.do == "fill"]
    todo = []
    if soaked:
        todo.append(say("subject.soak", beds=joined_in_short(soaked, MOST_BEDS)))
    if fed:
        todo.append(say("subject.feed", beds=joined_in_short(fed, MOST_BEDS)))
    if filled:
        todo.append(say("subject.fill", vessels=joined_in_short(filled, MOST_BEDS)))
    return todo
