"""What to do with the vessels this week: fill, top up, empty, test, or keep shut."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np

from steepwell.decide.cutting import crops_to_spare, wild_grows
from steepwell.decide.locks import Lock, locks_on
from steepwell.decide.start_words import (
    matter_for,
    matter_in_short,
    plants_listed,
    why_in_short,
    why_then,
)
from steepwell.decide.starting import Start, start_plan
from steepwell.garden.tables import reference_tables
from steepwell.words.figures import day as on
from steepwell.words.figures import strung
from steepwell.words.saying import say

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.garden.garden import Garden
    from steepwell.garden.growing import Vessel
    from steepwell.outlook.outlook import Outlook
    from steepwell.outlook.record import Record
    from steepwell.outlook.state import State, SteepNow
    from steepwell.store.entries import Entry

WEEK_D = 7
# Further ahead than this nothing needs to be known yet.
AHEAD_D = 42
# More than this share of the liquid gone is topped up; less is not worth opening a vessel for.
GONE = 0.1
# The solids are about to show when so little of a full vessel is left above them.
ABOUT_TO_SHOW = 0.1
# From this rung on a feed bears rainwater alone; a younger one wants its like beside it. From
# memory: what was drawn is replaced by rainwater and more of the same.
BEARS_WATER_PARTS = 200
SPILLS_WITHIN_D = 3
SPILLS_FROM = 0.5

Json = dict[str, Any]


def vessel_lines(
    garden: Garden,
    state: State,
    outlook: Outlook | None,
    entries: Sequence[Entry],
    *,
    spare_l: float,
    record: Record | None,
) -> list[Json]:
    """Return what to do with the vessels, those that hold a doubt first.

    Water for them comes out of what no bed needs. Where the butts are about to overflow, all that
    can take water takes it now.

    Parameters
    ----------
    garden
        The garden.
    state
        What is so now.
    outlook
        The weeks ahead, None where they are not known.
    entries
        The journal.
    spare_l
        Rainwater that no bed needs [L].
    record
        The weather record, None where there is none.

    Returns
    -------
    list of dict
        Lines of the plan.
    """
    steeps = dict(zip((vessel.name for vessel in garden.vessel), state.vessels, strict=True))
    locks = locks_on(garden, entries, state.today)
    shut = {lock.vessel for lock in locks if lock.bars == "all"}
    # What no bed is fed from needs no test of what it would do to beans.
    told = [lock for lock in locks if lock.bars == "all" or lock.vessel not in shut]
    lines = [line for lock in told if (line := _of_lock(lock, steeps[lock.vessel]))]
    spills = _spills_on(garden, state, outlook)
    if spills is not None:
        in_butts_l = sum(
            max(now.volume_l - butt.dead_volume, 0.0)
            for now, butt in zip(state.butts, garden.butt, strict=True)
        )
        spare_l = max(spare_l, in_butts_l)
    starts = {
        start.vessel: start for start in start_plan(garden, state, record, entries) if start.vessel
    }
    for vessel in garden.vessel:
        if vessel.name in shut:
            continue
        steep = steeps[vessel.name]
        if steep.ended:
            line = _line(vessel.name, "empty", reason=_at_its_end(starts.get(vessel.name)))
        elif steep.started is None:
            line = _fill(state.today, vessel, starts.get(vessel.name), spills, spare_l)
        else:
            there = _matter_there(garden, state, entries, steep.plants)
            line = _top_up(vessel, steep, there=there, spills=spills, spare_l=spare_l)
        if line is not None:
            spare_l -= line["rainwater_l"] if line["by"] in {None, state.today.isoformat()} else 0.0
            lines.append(line)
    return lines


def _of_lock(lock: Lock, steep: SteepNow) -> Json | None:
    if steep.started is None:
        return None
    if lock.test_by is not None:
        reason = say("vessels.test", because=lock.because)
        return _line(lock.vessel, "test", by=lock.test_by, reason=reason)
    if lock.bars == "all":
        reason = strung([lock.because, say("vessels.keep-shut")])
        return _line(lock.vessel, "keep shut", reason=reason)
    return None


def _spills_on(garden: Garden, state: State, outlook: Outlook | None) -> date | None:
    """Return the first day on which the butts will likely overflow, if that is soon."""
    if outlook is None or not garden.butt:
        return None
    spilled = outlook.futures.spilled_l[:SPILLS_WITHIN_D] > garden.can.size
    likely = np.flatnonzero(spilled.mean(axis=1) >= SPILLS_FROM)
    return state.today + timedelta(days=int(likely[0])) if likely.size else None


def _fill(
    today: date, vessel: Vessel, start: Start | None, spills: date | None, spare_l: float
) -> Json | None:
    enough = spare_l >= vessel.liquid_l
    soon = start is not None and start.by is not None and (start.by - today).days <= AHEAD_D
    matter = matter_for(start) if start and soon else say("vessels.any-family")
    in_short: dict[str, str] = {}
    if start and soon and spills is None and start.by is not None:
        by, reason = start.by, why_then(start)
        in_short = {"matter": matter_in_short(start), "reason": why_in_short(start)}
        # Until a later day there may be rain.
        enough = enough or (by - today).days >= WEEK_D
    elif spills is not None:
        by = spills
        reason = say("vessels.spills", day=on(spills))
    else:
        by, reason = None, say("vessels.stays-empty")
    if not enough:
        return None
    return _line(
        vessel.name,
        "fill",
        by=by,
        rainwater_l=vessel.liquid_l,
        matter=matter,
        reason=reason,
        in_short=in_short,
    )


def _at_its_end(start: Start | None) -> str:
    said = [say("vessels.at-its-end")]
    if start is not None:
        said.append(say("vessels.begin-anew", matter=matter_for(start)))
    return strung(said)


def _top_up(
    vessel: Vessel,
    steep: SteepNow,
    *,
    there: Sequence[str],
    spills: date | None,
    spare_l: float,
) -> Json | None:
    missing_l = vessel.liquid_l - steep.liquid_l
    shows = steep.usable_l <= ABOUT_TO_SHOW * vessel.liquid_l and steep.solids_l > 0.0
    parts = steep.dilution_parts
    bears_water = parts is not None and parts >= BEARS_WATER_PARTS
    wanted = missing_l > GONE * vessel.liquid_l or (shows and missing_l > 1.0)
    if not wanted or not (there or bears_water) or spare_l < missing_l:
        return None
    if spills is not None:
        reason = say("vessels.spills", day=on(spills))
    elif shows:
        reason = say("vessels.solids-show")
    else:
        reason = say("vessels.missing", litres=f"{missing_l:.0f}", of=f"{vessel.liquid_l:.0f}")
    matter = say("vessels.more-of", plants=plants_listed(there)) if there else None
    if matter is None:
        reason = strung([reason, say("vessels.rainwater-alone")])
    return _line(
        vessel.name, "top up", by=spills, rainwater_l=missing_l, matter=matter, reason=reason
    )


def _matter_there(
    garden: Garden, state: State, entries: Sequence[Entry], plants: Sequence[str]
) -> list[str]:
    """Return which of some plants can be cut now."""
    known = reference_tables().plants
    wild = [plant for plant in plants if plant in known] if wild_grows(garden, state.today) else []
    return [*wild, *crops_to_spare(garden, state.today, entries, plants)]


def _line(
    name: str,
    do: str,
    *,
    reason: str,
    in_short: dict[str, str] | None = None,
    by: date | None = None,
    rainwater_l: float = 0.0,
    matter: str | None = None,
) -> Json:
    return {
        "name": name,
        "do": do,
        "rainwater_l": round(rainwater_l),
        "matter": matter,
        "by": None if by is None else by.isoformat(),
        "reason": reason,
        "in_short": {"matter": matter, "reason": reason, **(in_short or {})},
    }
