"""What else would help, as it stands in the plan: worked out once a week, and kept for its days."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from steepwell.decide.clippings import BOX_L, clippings_l
from steepwell.decide.levers import DEPTH_MM, Lever, is_short, levers
from steepwell.garden.days import local_day
from steepwell.garden.site import WEEKDAYS
from steepwell.store.entries import Mulched

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.garden.garden import Garden
    from steepwell.outlook.outlook import Outlook
    from steepwell.outlook.state import State
    from steepwell.store.entries import Entry

KEPT_D = 7
# Mulch that saves less than a can is not worth the way.
WORTH_CANS = 1.0
LEAST_COVER = 0.2

Json = dict[str, Any]


def lever_lines(
    garden: Garden,
    state: State,
    outlook: Outlook | None,
    entries: Sequence[Entry],
    last: Json | None = None,
) -> Json:
    """Return what else would help while water is short.

    Parameters
    ----------
    garden
        The garden, as orders leave it.
    state
        What is so now.
    outlook
        The weeks ahead.
    entries
        The journal.
    last
        The last plan. What it says is kept for a week but for what was done or is barred since,
        and worked out anew for the letter; None to work it out anew.

    Returns
    -------
    dict
        ``levers``, the day they were worked out on as ``levers_on``, and ``mulch``, for which
        beds the clippings are best used; nothing while water is not short.
    """
    if outlook is None or not state.beds or not is_short(garden, outlook):
        return {"mulch": [], "levers": [], "levers_on": None}
    is_letter_day = WEEKDAYS[state.today.weekday()] == garden.hours.weekly_on
    if last is not None and last.get("levers_on") and not is_letter_day:
        since = date.fromisoformat(last["levers_on"])
        if 0 <= (state.today - since).days < KEPT_D:
            return _still(garden, state, entries, last, since)
    dryness = outlook.document.get("dryness")
    dry_d = dryness["days_below_1_mm"] if dryness else None
    found = levers(garden, state, outlook, entries, dry_d=dry_d)
    there_l = clippings_l(garden, entries, state.today, dry_d)
    return {
        "mulch": [] if there_l is None else _mulch_lines(garden, found, there_l),
        "levers": [_line(lever) for lever in found],
        "levers_on": state.today.isoformat(),
    }


def _still(garden: Garden, state: State, entries: Sequence[Entry], last: Json, since: date) -> Json:
    """Return what is left of the last plan's: not what was mulched or cleared, nor a barred tap."""
    done = {
        entry.bed
        for entry in entries
        if isinstance(entry, Mulched) and local_day(garden, entry.at) >= since
    }
    empty = {bed.name for bed in state.beds if bed.crop is None}
    has_tap = garden.tap.available == "yes"
    return {
        "mulch": [line for line in last["mulch"] if line["bed"] not in done | empty],
        "levers": [
            line
            for line in last["levers"]
            if line["bed"] not in empty
            and not (line["lever"] == "mulch" and line["bed"] in done)
            and (line["lever"] != "tap" or has_tap)
        ],
        "levers_on": last["levers_on"],
    }


def _line(lever: Lever) -> Json:
    return {
        "lever": lever.kind,
        "bed": lever.bed,
        "litres": round(lever.litres, 1),
        "days": round(lever.days, 1),
        "reason": lever.reason,
    }


def _mulch_lines(garden: Garden, found: Sequence[Lever], there_l: float) -> list[Json]:
    """Share out the clippings there are, first where a box of them saves most."""
    area = {bed.name: bed.area for bed in garden.bed}
    layers = [
        (lever, lever.bed, DEPTH_MM * area[lever.bed] * lever.cover)
        for lever in found
        if lever.kind == "mulch" and lever.bed is not None
    ]
    lines: list[Json] = []
    for lever, bed, takes_l in sorted(layers, key=lambda one: one[0].litres / one[2], reverse=True):
        given_l = min(takes_l, there_l)
        share = given_l / takes_l
        if lever.litres * share < WORTH_CANS * garden.can.size or share * lever.cover < LEAST_COVER:
            continue
        there_l -= given_l
        lines.append(
            {
                "bed": bed,
                "depth_mm": DEPTH_MM,
                "boxes": max(round(2 * given_l / BOX_L), 1) / 2,
                "saves_l": round(lever.litres * share, 1),
                "reason": lever.reason,
            }
        )
    return lines
