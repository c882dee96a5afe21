"""What the page shows beside outlook and plan, worked out where they are, for it needs NumPy."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from steepwell.decide.dosing import dose
from steepwell.decide.locks import locks_on
from steepwell.outlook.calendar import standing_on
from steepwell.tell.charts import water_ahead_svg
from steepwell.tell.state import below_taps

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.garden.garden import Garden
    from steepwell.garden.growing import Bed
    from steepwell.outlook.state import State, SteepNow
    from steepwell.store.entries import Entry

Json = dict[str, Any]


def beside(garden: Garden, state: State, outlook: Json | None, entries: Sequence[Entry]) -> Json:
    """Return what the page shows beside outlook and plan.

    Parameters
    ----------
    garden
        The garden.
    state
        What is so now.
    outlook
        The outlook document, None where there is none.
    entries
        The journal.

    Returns
    -------
    dict
        ``vessels`` that hold a steep, each with its dose for a can and what locks it, ``beds`` with
        what grows in them, and ``water_ahead``, an SVG, or None without an outlook.
    """
    picture = None
    if outlook is not None and garden.butt:
        drawn = water_ahead_svg(
            outlook,
            dry_line_l=garden.dry_line_l,
            below_taps_l=below_taps(garden),
            units=garden.garden.units,
        )
        picture = drawn.decode()
    locks = locks_on(garden, entries, state.today)
    return {
        "schema": 1,
        "water_ahead": picture,
        "vessels": [
            _vessel(garden, steep, [k.because for k in locks if k.vessel == steep.vessel])
            for steep in state.vessels
            if steep.started is not None
        ],
        "beds": [_bed(garden, bed, state, entries) for bed in garden.bed],
    }


def _vessel(garden: Garden, steep: SteepNow, locks: list[str]) -> Json:
    parts = None if steep.ended else steep.dilution_parts
    told = None if parts is None else dose(garden.can.size, parts)
    return {
        "name": steep.vessel,
        "plants": list(steep.plants),
        "dilution_parts": parts,
        "dose": None if told is None else told.text,
        "feed_ml": None if told is None else told.feed_ml,
        "cans": None if told is None else told.cans,
        "locks": locks,
    }


def _bed(garden: Garden, bed: Bed, state: State, entries: Sequence[Entry]) -> Json:
    standing = standing_on(garden, bed, state.today, entries)
    known = standing is not None and not standing.full_grown
    return {
        "name": bed.name,
        "crop": None if standing is None else standing.crop,
        "planted": standing.planted.isoformat() if standing is not None and known else None,
    }
