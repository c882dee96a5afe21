"""The subject of a letter: the one thing, then what to do."""

from __future__ import annotations

from typing import TYPE_CHECKING

from steepwell.tell.wording import day, joined_in_short, spoken, the_vessel

if TYPE_CHECKING:
    from datetime import date

    from steepwell.tell.documents import Plan

# What a phone shows of a subject; what goes beyond is left out, the least urgent first.
LONGEST_SUBJECT = 70
MOST_BEDS = 2
NOTHING_KNOWN = "Your garden this week"


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
    head = _water(plan, today, dry=dry)
    if head == NOTHING_KNOWN and first:
        head = "Your first week"
    todo = _todo(plan)
    while len(todo) > 1 and len(f"{head}. {', '.join(todo)}") > LONGEST_SUBJECT:
        todo.pop()
    said = ", ".join(todo) or _otherwise(plan, dry=dry, tap=tap)
    return f"{head}. {said[0].upper()}{said[1:]}"


def _water(plan: Plan, today: date, *, dry: bool) -> str:
    if dry:
        return "The butts are dry"
    if plan.lasts_to is None:
        return NOTHING_KNOWN
    if plan.lasts_to.p10 is None:
        return "No dry day in sight"
    if plan.lasts_to.p50 is None:
        return f"Water to {day(plan.lasts_to.p10)} or longer"
    if plan.lasts_to.p50 <= today:
        return "Water is short"
    return f"Water to about {day(plan.lasts_to.p50)}"


def _otherwise(plan: Plan, *, dry: bool, tap: bool) -> str:
    if plan.watered:
        return "water trays and pots"
    if dry and plan.left_dry:
        return "water from the tap what wilts" if tap else "nothing to do until it rains"
    return "nothing to do now"


def _todo(plan: Plan) -> list[str]:
    soaked = [spoken(line.bed) for line in plan.watered if not line.daily_l]
    fed = list(dict.fromkeys(spoken(line.bed) for line in plan.feed))
    filled = [the_vessel(line.name) for line in plan.vessels if line.do == "fill"]
    return [
        f"{verb} {joined_in_short(names, MOST_BEDS)}"
        for verb, names in (("soak", soaked), ("feed", fed), ("fill", filled))
        if names
    ]
