"""The week's plan as one JSON document."""

from __future__ import annotations

from dataclasses import asdict
from datetime import timedelta
from typing import TYPE_CHECKING, Any

import numpy as np

from steepwell.decide.feeding import share_feed
from steepwell.decide.orders import without_watering
from steepwell.decide.ration import ration
from steepwell.decide.short_feed import short_feeds
from steepwell.decide.vessel_lines import vessel_lines
from steepwell.decide.watering import SKIP_AFTER_MM, Watering, above_taps_l
from steepwell.garden.days import local_day
from steepwell.store.dated import barred
from steepwell.store.entries import DrawnOff, Fed, Watered
from steepwell.store.tasks import FEED, WATER, job_name

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.garden.garden import Garden
    from steepwell.outlook.outlook import Outlook
    from steepwell.outlook.record import Record
    from steepwell.outlook.state import State
    from steepwell.store.entries import Entry

SCHEMA = 1
WEEK_D = 7

Json = dict[str, Any]


def make_plan(
    garden: Garden,
    state: State,
    outlook: Outlook | None,
    entries: Sequence[Entry],
    record: Record | None = None,
) -> Json:
    """Return the plan for the seven days from today.

    Parameters
    ----------
    garden
        The garden.
    state
        What is so now.
    outlook
        The weeks ahead; without it a bed wants what it lacks today.
    entries
        The journal.
    record
        The weather record, for when feed must be begun; None where there is none.

    Returns
    -------
    dict
        Ready for ``json.dumps``.
    """
    in_hand_l = sum(above_taps_l(garden, state).values())
    shared = ration(garden, state, outlook, entries, _wanted_l(garden, state, outlook))
    may_water = "watering" not in barred(entries, state.today)
    water = shared.lines if may_water else without_watering(shared.lines)
    tap_l = sum(line.litres for line in water if line.from_tap)
    spare_l = may_water * (in_hand_l + tap_l - sum(line.litres for line in water))
    watered = {line.bed: line.days for line in water if line.litres}
    mean_c = None if outlook is None else float(np.median(outlook.weather.mean_c[:WEEK_D]))
    feed, unfed = share_feed(
        garden, state, [*entries, *state.taken], watered=watered, spare_l=spare_l, mean_c=mean_c
    )
    spare_l -= garden.can.size * sum(line.dose.cans for line in feed if line.bed not in watered)
    return {
        "schema": SCHEMA,
        "issued": state.now.astimezone(garden.garden.zone).isoformat(timespec="seconds"),
        "week": [
            state.today.isoformat(),
            (state.today + timedelta(days=WEEK_D - 1)).isoformat(),
        ],
        "in_hand_l": _told_in_hand_l(garden, state),
        "lasts_to": shared.lasts_to or (outlook.document["water"]["dry_by"] if outlook else None),
        "water": [_water_line(line) for line in water],
        "feed": [
            {
                "bed": line.bed,
                "vessel": line.vessel,
                "cans": line.dose.cans,
                "feed_ml": line.dose.feed_ml,
                "spoons": line.dose.text,
                "measure": line.dose.measure,
                "dilution_parts": line.dilution_parts,
                "day": line.day.isoformat(),
                "reason": line.reason,
                "heed": line.heed,
                "only_due": line.only_due,
            }
            for line in feed
        ],
        "unfed": [asdict(line) for line in unfed],
        "vessels": vessel_lines(
            garden,
            state,
            outlook,
            entries,
            spare_l=spare_l if shared.spare else 0.0,
            record=record,
        ),
        "short_feed": [
            {
                "family": short.family,
                "there_l": round(short.there_l, 2),
                "wanted_l": round(short.wanted_l, 2),
                "by": short.by.isoformat(),
            }
            for short in short_feeds(garden, state, entries)
        ],
        "mulch": [],
        "levers": [],
        "levers_on": None,
        "tap_l": round(tap_l),
        "taken": _taken(garden, state),
    }


def _taken(garden: Garden, state: State) -> list[Json]:
    """Return what counts as done in the last week though nobody noted it, each day and bed once."""
    lines: dict[str, Json] = {}
    for entry in state.taken:
        day = local_day(garden, entry.at)
        if isinstance(entry, DrawnOff) or (state.today - day).days > WEEK_D:
            continue
        vessel = entry.vessel if isinstance(entry, Fed) else None
        job = job_name(WATER if vessel is None else FEED, entry.bed, day)
        told = {"job": job, "bed": entry.bed, "day": day.isoformat(), "litres": None}
        line = lines.setdefault(job, {**told, "vessel": vessel})
        if isinstance(entry, Watered):
            line["litres"] = round((line["litres"] or 0.0) + entry.litres, 1)
    return list(lines.values())


def _wanted_l(garden: Garden, state: State, outlook: Outlook | None) -> dict[str, float]:
    if outlook is not None:
        medians = np.median(outlook.futures.bed_wanted_l, axis=1)
        return {bed.name: float(wanted) for bed, wanted in zip(garden.bed, medians, strict=True)}
    area = {bed.name: bed.area for bed in garden.bed}
    return {
        now.name: now.depletion_mm * area[now.name] if now.depletion_mm > now.raw_mm / 2 else 0.0
        for now in state.beds
    }


def _told_in_hand_l(garden: Garden, state: State) -> float | None:
    """Return the water above the taps, of the levels that the outlook tells; None without butts."""
    if not garden.butt:
        return None
    told = [
        max(round(now.volume_l, 1) - butt.dead_volume, 0.0)
        for butt, now in zip(garden.butt, state.butts, strict=True)
    ]
    return round(sum(told), 1)


def _water_line(line: Watering) -> Json:
    return {
        "bed": line.bed,
        "daily_l": line.daily_l,
        "cans": line.cans,
        "litres": round(line.litres, 1),
        "days": [day.isoformat() for day in line.days],
        "from": line.butt,
        "skip_after_mm": SKIP_AFTER_MM,
        "stop": line.stop,
        "enough": line.enough,
        "reason": line.reason,
    }
