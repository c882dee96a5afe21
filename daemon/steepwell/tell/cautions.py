"""The cautions that go with the advice of a letter: short, and only those that apply."""

from __future__ import annotations

from typing import TYPE_CHECKING

from steepwell.words.saying import say

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden
    from steepwell.tell.content import Told
    from steepwell.tell.documents import Plan

# Of these somebody comes to harm; they are told with every job, those told before more shortly.
SAFETY = ("water", "feed", "fill")


def cautions(garden: Garden, plan: Plan, told: Told | None = None) -> list[str]:
    """Return the cautions that apply to a plan.

    Parameters
    ----------
    garden
        The garden, for what kind of bed is watered.
    plan
        The plan.
    told
        What a letter may take as told; None for every caution in full.

    Returns
    -------
    list of str
        Sentences, the most important first.
    """
    before = {each for plan_ in (told.plans if told else ()) for each in _apply(garden, plan_)}
    said = []
    for caution in _apply(garden, plan):
        if caution not in before:
            said.append(say(f"cautions.{caution}"))
        elif caution in SAFETY:
            said.append(say(f"cautions-again.{caution}"))
    return said


def _apply(garden: Garden, plan: Plan) -> list[str]:
    trays = {bed.name for bed in garden.bed if bed.kind == "tray"}
    filled = any(line.do == "fill" for line in plan.vessels)
    tap = plan.tap_l > 0 or any(lever.lever == "tap" for lever in plan.levers)
    applies = {
        "water": bool(plan.watered or plan.feed),
        "trays": any(line.bed in trays for line in plan.watered),
        "feed": bool(plan.feed),
        "fill": filled,
        "empty": bool(plan.feed or plan.vessels),
        "mulch": bool(plan.mulch),
        "tap": tap,
        "rules": bool(plan.watered or tap or plan.vessels),
    }
    return [caution for caution, does in applies.items() if does]
