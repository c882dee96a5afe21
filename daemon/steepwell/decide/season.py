"""The feeds of the year ahead as one JSON document: what to begin when, and what is in hand."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from steepwell.decide.reserve import Rung, YearOf, by_rung, in_hand, year_ahead
from steepwell.decide.start_words import matter_for, why_then
from steepwell.decide.starting import Reserve, Start, start_plan

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.garden.garden import Garden
    from steepwell.outlook.record import Record
    from steepwell.outlook.state import State
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
