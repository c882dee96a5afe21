"""Rules about steeps that the letter tells: thinner soon, to be topped up, at their end."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from steepwell.model.dilution import LADDER
from steepwell.outlook.vessel_summary import rungs_ahead
from steepwell.watch.finding import Finding
from steepwell.watch.kinds import NEXT_RUNG, STEEP_ENDED, TOP_UP
from steepwell.words.saying import say

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from steepwell.garden.garden import Garden
    from steepwell.outlook.outlook import Outlook
    from steepwell.outlook.state import State

AHEAD_D = 7
RAISED_AT, CLEARED_BELOW = 0.5, 0.25
# A vessel that was to be topped up is so until hardly anything is missing.
MISSING_TO = 0.05

Json = dict[str, Any]


def next_rungs(
    garden: Garden, state: State, outlook: Outlook, stand: Collection[str]
) -> list[Finding]:
    """Find vessels whose feed will be told thinner within a week.

    Parameters
    ----------
    garden
        The garden.
    state
        What is so now.
    outlook
        The weeks ahead.
    stand
        Vessels of which this was told already.

    Returns
    -------
    list of Finding
        One a vessel that is in use; over when its label has changed.
    """
    found = []
    for index, (vessel, steep) in enumerate(zip(garden.vessel, state.vessels, strict=True)):
        label = steep.dilution_parts
        ladder = vessel.ladder or LADDER
        if label is None or label == ladder[-1]:
            continue
        ages_d = outlook.futures.age_d[AHEAD_D - 1, index]
        told_age_d = np.maximum(ages_d, steep.calendar_age_d(state.now) + AHEAD_D)
        at = rungs_ahead(steep, ladder, told_age_d[None, :], label=label, now=state.now)[0]
        here = ladder.index(label)
        chance = float((at > here).mean())
        if chance >= (CLEARED_BELOW if vessel.name in stand else RAISED_AT):
            found.append(_thinner(vessel.name, label, ladder[here + 1], chance))
    return found


def steeps_ended(state: State) -> list[Finding]:
    """Find vessels whose steep is at its end; over when they are emptied.

    Parameters
    ----------
    state
        What is so now.

    Returns
    -------
    list of Finding
        One a vessel.
    """
    return [
        Finding(
            kind=STEEP_ENDED,
            subject=steep.vessel,
            urgency="Future",
            severity="Minor",
            certainty="Likely",
            headline=say("steeps.ended", vessel=steep.vessel),
            text=say("steeps.empty-it", days=f"{steep.calendar_age_d(state.now):.0f}"),
            figures={"calendar_age_d": round(steep.calendar_age_d(state.now), 1)},
        )
        for steep in state.vessels
        if steep.started is not None and steep.ended
    ]


def top_ups_due(
    garden: Garden, state: State, lines: Sequence[Json], stand: Collection[str]
) -> list[Finding]:
    """Find vessels that want to be topped up.

    Parameters
    ----------
    garden
        The garden.
    state
        What is so now.
    lines
        What the plan does with the vessels.
    stand
        Vessels of which this was told already: they stay until hardly anything is missing.

    Returns
    -------
    list of Finding
        One a vessel.
    """
    planned = {line["name"]: line for line in lines if line["do"] == "top up"}
    found = []
    for vessel, steep in zip(garden.vessel, state.vessels, strict=True):
        missing_l = vessel.liquid_l - steep.liquid_l
        still_due = vessel.name in stand and missing_l > MISSING_TO * vessel.liquid_l
        line = planned.get(vessel.name)
        if steep.started is None or steep.ended or (line is None and not still_due):
            continue
        found.append(_top_up(vessel.name, missing_l, line))
    return found


def _thinner(vessel: str, label: int, following: int, chance: float) -> Finding:
    return Finding(
        kind=NEXT_RUNG,
        subject=vessel,
        urgency="Future",
        severity="Minor",
        certainty="Likely",
        headline=say("steeps.thinner", vessel=vessel),
        text=say("steeps.label-changes", now=label, following=following),
        figures={"dilution_parts": label, "next_parts": following, "p_within_week": chance},
    )


def _top_up(vessel: str, missing_l: float, line: Json | None) -> Finding:
    litres = f"{missing_l:.0f}"
    if line is None:
        takes = say("steeps.takes", litres=litres)
    elif line["matter"]:
        takes = say("steeps.takes-matter", litres=litres, matter=line["matter"], why=line["reason"])
    else:
        takes = say("steeps.takes-for", litres=litres, why=line["reason"])
    return Finding(
        kind=TOP_UP,
        subject=vessel,
        urgency="Future",
        severity="Minor",
        certainty="Likely",
        headline=say("steeps.top-up", vessel=vessel),
        text=f"{takes} {say('steeps.over-when-full')}",
        figures={"missing_l": round(missing_l, 1)},
    )
