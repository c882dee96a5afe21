"""What else would help while water is short, in plain words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from steepwell.tell.wording import litres, sentence, spoken

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.garden.garden import Garden
    from steepwell.tell.documents import LeverLine, MulchLine, Plan

LEAST_DAYS = 1.0
LEAST_CANS = 0.5


def would_help(garden: Garden, plan: Plan) -> tuple[str, ...]:
    """Return the one bed to leave dry, to shade and to mulch, and the tap, as far as they help.

    Parameters
    ----------
    garden
        The garden, as orders leave it.
    plan
        The plan. A bed that it leaves dry already, or mulches with clippings, is not named again.

    Returns
    -------
    tuple of str
        Sentences; none while water is not short.
    """
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
    return tuple(_said(lever) for lever in picked if lever is not None)


def _most(levers: Sequence[LeverLine]) -> LeverLine | None:
    return max(levers, key=lambda lever: (lever.days, lever.litres), default=None)


def _said(lever: LeverLine) -> str:
    bed = spoken(lever.bed) if lever.bed else ""
    amount = litres(round(lever.litres))
    told = {
        "tap": f"{amount} from the tap",
        "mulch": f"Mulch on {bed}, 2 to 3 cm thick, saves about {amount} in six weeks",
        "shade": f"Shade over {bed} saves about {amount} in six weeks",
        "stop": f"To water {bed} no more saves about {amount} in six weeks",
    }[lever.lever]
    if lever.days >= LEAST_DAYS:
        days = round(lever.days)
        told += f", and the butts last {days} {'day' if days == 1 else 'days'} longer"
    return f"{told}. {sentence(lever.reason)}"


def mulched(line: MulchLine) -> str:
    """Return for which bed the clippings are best, how much of them, and what they save.

    Parameters
    ----------
    line
        The line of the plan.

    Returns
    -------
    str
        Two sentences.
    """
    half = "half a mower box"
    whole = "1 mower box" if line.boxes == 1 else f"{line.boxes:g} mower boxes"
    boxes = half if line.boxes == 0.5 else whole  # noqa: PLR2004 - half of one
    return (
        f"{sentence(spoken(line.bed)).removesuffix('.')}: {boxes} of clippings, "
        f"{line.depth_mm / 10:g} cm deep; saves about {litres(round(line.saves_l))} in six weeks. "
        f"{sentence(line.reason)}"
    )
