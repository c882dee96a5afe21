"""The cautions that go with the advice of a letter: short, and only those that apply."""

from __future__ import annotations

from typing import TYPE_CHECKING

from steepwell.words.saying import say

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden
    from steepwell.tell.content import Told
    from steepwell.tell.documents import Plan

# Of these somebody comes to harm: a letter tells them each time.
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
    applying = _apply(garden, plan)
    if told is None:
        return [say(f"cautions.{caution}") for caution in applying]
    known = {each for before in told.plans for each in _apply(garden, before)}
    return [
        # Who should leave feed alone is to be told whole, once.
        say(f"cautions.{caution}")
        if caution == "feed" and caution not in known
        else say(f"cautions-in-short.{caution}")
        for caution in applying
        if caution in SAFETY or caution not in known
    ]


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
