"""The rule about vessels: the feed in one has become ready."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from steepwell.watch.finding import Finding
from steepwell.words.saying import say

if TYPE_CHECKING:
    from collections.abc import Collection

    from steepwell.garden.garden import Garden
    from steepwell.outlook.state import State

READY = "vessel-ready"


def vessels_ready(
    garden: Garden, state: State, outlook: dict[str, Any], wanted: Collection[str]
) -> list[Finding]:
    """Find vessels whose feed is ready and has not been used yet.

    Parameters
    ----------
    garden
        The garden.
    state
        What is so now.
    outlook
        The outlook document, for the dilution.
    wanted
        Vessels that the plan of the week feeds a bed from.

    Returns
    -------
    list of Finding
        One a vessel.
    """
    found = []
    for steep, told in zip(state.vessels, outlook["vessels"], strict=True):
        parts = told["dilution_parts"]
        if parts is None or steep.drawn_l > 0:
            continue
        found.append(
            Finding(
                kind=READY,
                subject=steep.vessel,
                urgency="Future",
                severity="Minor",
                certainty="Likely",
                headline=say("vessels.ready", vessel=steep.vessel),
                text=say("vessels.look-first", litres=f"{steep.usable_l:.0f}", parts=parts),
                figures={
                    "thermal_age_d": round(steep.thermal_age_d, 1),
                    "calendar_age_d": round(steep.calendar_age_d(state.now), 1),
                    "dilution_parts": parts,
                    "garden": garden.name,
                    "wanted": steep.vessel in wanted,
                },
            )
        )
    return found
