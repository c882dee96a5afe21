"""What else would help while water is short, and where clippings help most, in plain words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from steepwell.tell.wording import sentence
from steepwell.words.figures import joined, litres, spoken
from steepwell.words.saying import say, say_count

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.garden.garden import Garden
    from steepwell.tell.content import Told
    from steepwell.tell.documents import LeverLine, MulchLine, Plan

LEAST_DAYS = 1.0
LEAST_CANS = 0.5
HALF_A_BOX = 0.5
MM_A_CM = 10.0


def would_help(garden: Garden, plan: Plan, told: Told | None = None) -> tuple[str, ...]:
    """Return the one bed to leave dry, to shade and to mulch, and the tap, as far as they help.

    Parameters
    ----------
    garden
        The garden, as orders leave it.
    plan
        The plan. A bed that it leaves dry already, or mulches with clippings, is not named again.
    told
        What a letter may take as told; None to say all of it.

    Returns
    -------
    tuple of str
        Sentences; none while water is not short.
    """
    before = told.unhurried if told is not None else ()
    known = {(lever.lever, lever.bed) for each in before for lever in _picked(garden, each)}
    said = _in_full if told is None else _in_short
    return tuple(
        said(lever) for lever in _picked(garden, plan) if (lever.lever, lever.bed) not in known
    )


def _picked(garden: Garden, plan: Plan) -> list[LeverLine]:
    least_l = LEAST_CANS * garden.can.size
    worth = [lever for lever in plan.levers if lever.litres >= least_l]
    dry = {line.bed for line in plan.left_dry}
    picked = [
        _most([each for each in worth if each.lever == "tap"]),
        # Without a lawn it is for the gardener to know where mulch comes from.
        _most([each for each in worth if each.lever == "mulch" and garden.lawn is None]),
        _most([each for each in worth if each.lever == "shade" and each.bed not in dry]),
        _most([each for each in worth if each.lever == "stop" and each.bed not in dry]),
    ]
    return [lever for lever in picked if lever is not None]


def _most(levers: Sequence[LeverLine]) -> LeverLine | None:
    return max(levers, key=lambda lever: (lever.days, lever.litres), default=None)


def _in_full(lever: LeverLine) -> str:
    bed = spoken(lever.bed) if lever.bed else ""
    told = say(f"would-help.{lever.lever}", bed=bed, amount=litres(round(lever.litres)))
    if lever.days >= LEAST_DAYS:
        told = say_count("would-help-days.in-full", round(lever.days), what=told)
    return f"{sentence(told)} {sentence(lever.reason)}"


def _in_short(lever: LeverLine) -> str:
    bed = spoken(lever.bed) if lever.bed else ""
    amount = litres(round(lever.litres))
    told = say(f"would-help-in-short.{lever.lever}", bed=bed, amount=amount)
    if lever.days >= LEAST_DAYS:
        told = say_count("would-help-days.in-short", round(lever.days), what=told)
    elif lever.lever != "tap":
        told = say("would-help-saves.in-short", what=told, amount=amount)
    return sentence(told)


def mulches_said(plan: Plan, told: Told | None) -> tuple[str, ...]:
    """Return where to lay clippings; what was told a week ago is only named.

    Parameters
    ----------
    plan
        The plan.
    told
        What a letter may take as told; None to say all of it.

    Returns
    -------
    tuple of str
        Sentences.
    """
    if told is None:
        return tuple(mulched(line) for line in plan.mulch)
    known = {line.bed for line in told.plan.mulch} if told.plan else set()
    new = [mulched(line, in_short=True) for line in plan.mulch if line.bed not in known]
    again = [spoken(line.bed) for line in plan.mulch if line.bed in known]
    return (*new, *([say("mulch.again", beds=joined(again))] if again else []))


def mulched(line: MulchLine, *, in_short: bool = False) -> str:
    """Return for which bed the clippings are best, how much of them, and what they save.

    Parameters
    ----------
    line
        The line of the plan.
    in_short
        Whether the reason is left out.

    Returns
    -------
    str
        One sentence, or two.
    """
    boxes = (
        say("mulch.half-a-box")
        if line.boxes == HALF_A_BOX
        else say_count("mulch.boxes", line.boxes, amount=f"{line.boxes:g}")
    )
    said = say(
        "mulch.clippings",
        bed=sentence(spoken(line.bed)).removesuffix("."),
        boxes=boxes,
        cm=f"{line.depth_mm / MM_A_CM:g}",
        amount=litres(round(line.saves_l)),
    )
    return said if in_short else f"{said} {sentence(line.reason)}"
