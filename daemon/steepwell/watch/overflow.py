"""The rules about water that is about to be lost while a vessel could take it."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Any

from steepwell.watch.finding import Finding
from steepwell.watch.kinds import BUTTS_FULL, OVERFLOW
from steepwell.words.figures import day, listed
from steepwell.words.saying import say, say_count

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.garden.garden import Garden
    from steepwell.outlook.outlook import Outlook
    from steepwell.outlook.state import State

AHEAD_D = 3
SPILLS_FROM, SPILLS_BELOW = 0.5, 0.2
FULL_FROM, FULL_BELOW = 0.95, 0.85
TAKES_WATER = frozenset({"fill", "top up"})

Json = dict[str, Any]


def overflow_ahead(
    garden: Garden,
    state: State,
    outlook: Outlook | None,
    lines: Sequence[Json],
    *,
    forecast: bool,
    stands: bool,
) -> Finding | None:
    """Find out whether the butts will spill, or are full, while a vessel can take some of it.

    What will spill is told by a short-range forecast. Without one the days ahead are only what is
    usual, and it is told that the butts are full.

    Parameters
    ----------
    garden
        The garden.
    state
        What is so now.
    outlook
        The weeks ahead, None where they are not known.
    lines
        What the plan does with the vessels.
    forecast
        Whether the outlook goes by a short-range forecast.
    stands
        Whether the notice stands; it is over at a lower chance, or level, than it is told.

    Returns
    -------
    Finding or None
        None too where no vessel can take any.
    """
    takes = [line for line in lines if line["do"] in TAKES_WATER and line["rainwater_l"] > 0]
    if not garden.butt or not takes:
        return None
    if forecast and outlook is not None:
        spilled = outlook.futures.spilled_l[:AHEAD_D].sum(axis=0)
        chance = float((spilled > garden.can.size).mean())
        if chance < (SPILLS_BELOW if stands else SPILLS_FROM):
            return None
        by = state.today + timedelta(days=AHEAD_D - 1)
        return _finding(
            OVERFLOW,
            takes,
            headline=say("overflow.ahead"),
            said=say("overflow.spills", day=day(by), chance=f"{chance:.0%}"),
            over=say("overflow.over-by-chance", chance=f"{SPILLS_BELOW:.0%}"),
            figures={"p_spill": round(chance, 2), "within_d": AHEAD_D},
            observed=False,
        )
    full = state.stored_l / garden.capacity_l
    if full < (FULL_BELOW if stands else FULL_FROM):
        return None
    return _finding(
        BUTTS_FULL,
        takes,
        headline=say("overflow.full"),
        said=say("overflow.next-rain-spills", share=f"{full:.0%}"),
        over=say("overflow.over-by-level", share=f"{FULL_BELOW:.0%}"),
        figures={"share_full": round(full, 2)},
        observed=True,
    )


def _finding(
    kind: str,
    takes: Sequence[Json],
    *,
    headline: str,
    said: str,
    over: str,
    figures: Json,
    observed: bool,
) -> Finding:
    vessels = listed(
        [
            say("overflow.vessel", vessel=line["name"], litres=f"{line['rainwater_l']:g}")
            for line in takes
        ]
    )
    matter = next((line["matter"] for line in takes if line["matter"]), None)
    if matter is None:
        fill = say_count("overflow.fill", len(takes), vessels=vessels)
    else:
        fill = say_count("overflow.fill-with", len(takes), vessels=vessels, matter=matter)
    return Finding(
        kind=kind,
        subject="water",
        urgency="Future",
        severity="Minor",
        certainty="Observed" if observed else "Likely",
        headline=headline,
        text=f"{said} {fill} {over}",
        figures={**figures, "vessels": [line["name"] for line in takes]},
    )
