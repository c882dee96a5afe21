"""The feeds of the year ahead as one JSON document: what to begin when, and what is in hand."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from steepwell.decide.dosing import dose
from steepwell.decide.locks import locks_on, plant_family
from steepwell.decide.reserve import Rung, YearOf, by_rung, in_hand, year_ahead
from steepwell.decide.start_words import matter_for, why_then
from steepwell.decide.starting import Reserve, Start, start_plan
from steepwell.model.dilution import LADDER
from steepwell.store.entries import Decanted, ToppedUp

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.garden.garden import Garden
    from steepwell.outlook.record import Record
    from steepwell.outlook.state import State, SteepNow
    from steepwell.store.entries import Entry

SCHEMA = 1

Json = dict[str, Any]


def season_document(
    garden: Garden, state: State, record: Record | None, entries: Sequence[Entry]
) -> Json:
    """Return which feeds to begin for the year ahead, and the feed in hand.

    Parameters
    ----------
    garden
        The garden.
    state
        What is so now.
    record
        The weather record, None where there is none.
    entries
        The journal.

    Returns
    -------
    dict
        Ready for ``json.dumps``.
    """
    kept = in_hand(garden, state, entries)
    return {
        "schema": SCHEMA,
        "garden": garden.name,
        "issued": state.now.astimezone(garden.garden.zone).isoformat(timespec="seconds"),
        "starts": [_start(each) for each in start_plan(garden, state, record, entries)],
        "reserve": [_reserve(each) for each in kept],
        "by_rung": [_rung(each) for each in by_rung(kept)],
        "year": [_year(each) for each in year_ahead(garden, state, record)],
    }


def label_facts(garden: Garden, state: State, entries: Sequence[Entry]) -> list[Json]:
    """Return what the label of each vessel says that holds a steep.

    Parameters
    ----------
    garden
        The garden.
    state
        What is so now.
    entries
        The journal.

    Returns
    -------
    list of dict
        In the order of the garden file, each with what was decanted from its steep after it.
    """
    locks = locks_on(garden, entries, state.today)
    facts = []
    for vessel, steep in zip(garden.vessel, state.vessels, strict=True):
        if steep.started is None:
            continue
        parts = steep.dilution_parts
        fact = {
            "vessel": steep.vessel,
            "store": None,
            "plants": list(steep.plants),
            "families": list(dict.fromkeys(plant_family(plant) for plant in steep.plants)),
            "started": steep.started.astimezone(garden.garden.zone).date().isoformat(),
            "dilution_parts": parts,
            "dose": None if parts is None else dose(garden.can.size, parts).text,
            "can_l": garden.can.size,
            "locks": [lock.because for lock in locks if lock.vessel == steep.vessel],
        }
        facts.append(fact)
        for entry in _decanted(entries, steep):
            thinned = any(
                isinstance(other, ToppedUp)
                and other.vessel == steep.vessel
                and other.at >= entry.at
                for other in entries
            )
            # No thicker than what steeped on; where that was watered since, as thin as can be.
            safe = parts if parts is None or not thinned else (vessel.ladder or LADDER)[-1]
            told = None if safe is None else dose(garden.can.size, safe).text
            facts.append({**fact, "store": entry.into, "dilution_parts": safe, "dose": told})
    return facts


def _decanted(entries: Sequence[Entry], steep: SteepNow) -> list[Decanted]:
    """Return what was decanted from a steep, the first into each store."""
    stores: dict[str, Decanted] = {}
    for entry in entries:
        if (
            isinstance(entry, Decanted)
            and entry.vessel == steep.vessel
            and steep.started is not None
            and entry.at >= steep.started
        ):
            stores.setdefault(entry.into, entry)
    return list(stores.values())


def _start(start: Start) -> Json:
    wanted = start.wanted
    return {
        "feed": wanted.name,
        "crops": list(wanted.crops),
        "vessel": start.vessel,
        "by": None if start.by is None else start.by.isoformat(),
        "cleared": None if wanted.cleared is None else wanted.cleared.isoformat(),
        "last_day": None if start.last is None else start.last.isoformat(),
        "wanted_from": wanted.feeds[0].isoformat(),
        "cans": len(wanted.feeds),
        "wanted_l": round(start.litres, 2),
        "size_l": round(start.size_l),
        "rainwater_l": round(start.rainwater_l),
        "matter": matter_for(start),
        "buckets_wanted": round(start.buckets, 1),
        "kg_wanted": round(start.matter_kg, 1),
        "buckets_given": round(wanted.buckets, 1),
        "untested": wanted.untested,
        "reason": why_then(start),
    }


def _reserve(kept: Reserve) -> Json:
    return {
        "vessel": kept.vessel,
        "litres": round(kept.litres, 1),
        "dilution_parts": kept.dilution_parts,
        "cans": kept.cans,
        "families": list(kept.families),
    }


def _rung(rung: Rung) -> Json:
    return {
        "dilution_parts": rung.dilution_parts,
        "litres": round(rung.litres, 1),
        "cans": rung.cans,
        "families": list(rung.families),
    }


def _year(year: YearOf) -> Json:
    return {
        "vessel": year.vessel,
        "litres": round(year.litres, 1),
        "steps": [
            {
                "from": step.first.isoformat(),
                "dilution_parts": step.dilution_parts,
                "cans": step.cans,
            }
            for step in year.steps
        ],
    }
