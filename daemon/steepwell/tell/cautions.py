"""The cautions that go with the advice of a letter: short, and only those that apply."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden
    from steepwell.tell.documents import Plan


def cautions(garden: Garden, plan: Plan) -> list[str]:
    """Return the cautions that apply to a plan.

    Parameters
    ----------
    garden
        The garden, for what kind of bed is watered.
    plan
        The plan.

    Returns
    -------
    list of str
        Sentences, the most important first.
    """
    trays = {bed.name for bed in garden.bed if bed.kind == "tray"}
    filled = any(line.do == "fill" for line in plan.vessels)
    tap = plan.tap_l > 0 or any(lever.lever == "tap" for lever in plan.levers)
    applies = {
        _WATER: bool(plan.watered or plan.feed),
        _TRAYS: any(line.bed in trays for line in plan.watered),
        _FEED: bool(plan.feed),
        _FILL: filled,
        _EMPTY: bool(plan.feed or plan.vessels),
        _MULCH: bool(plan.mulch),
        _TAP: tap,
        _RULES: bool(plan.watered or tap or plan.vessels),
    }
    return [caution for caution, does in applies.items() if does]


_WATER = "Rainwater and feed are not for drinking; pour them on the soil, and never spray them."
_TRAYS = "Seedlings in trays do better with tap water or this week's rain than with old butt water."
_FEED = (
    "With feed: gloves, covered cuts, washed hands and produce, and nothing on what is eaten raw. "
    "People at risk leave it to others."
)
_FILL = (
    "Only healthy plants go into a vessel. Keep it outdoors, out of children's reach, and never "
    "seal it tight: it gives off gas."
)
_EMPTY = "Nothing of a vessel goes into a drain, ditch, pond or stream: compost it."
_MULCH = "Lay mulch 2 to 3 cm thick at a time, on moist soil and clear of stems."
_TAP = "Leave no hose end in a butt: it siphons back into the tap."
_RULES = "Local watering rules decide."
