"""How much liquid and matter a vessel holds, told from the journal alone."""

from __future__ import annotations

from typing import TYPE_CHECKING

from steepwell.garden.matter import DENSEST_KG_L, SETTLED_L_A_KG, USUAL_KG_L, bucket_kg
from steepwell.store.entry_kinds import Decanted, DrawnOff, SteepStarted, ToppedUp
from steepwell.store.steeps import steep_in

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import datetime

    from steepwell.garden.growing import Vessel
    from steepwell.store.entry_base import Matter
    from steepwell.store.entry_kinds import Entry


def matter_kg(matter: Iterable[Matter]) -> float | None:
    """Return what all matter of an entry weighs, None if that is not said of some of it [kg]."""
    total_kg = 0.0
    for each in matter:
        if each.kg is not None:
            total_kg += each.kg
        elif each.buckets is not None:
            total_kg += each.buckets * bucket_kg(each.plant, packed=each.packed)
        else:
            return None
    return total_kg


def filled_l(vessel: Vessel, start: SteepStarted) -> float:
    """Return the liquid a steep began with: what was noted, else up to the headspace [L]."""
    return vessel.liquid_l if start.water_l is None else start.water_l


def top_up_kg(entry: ToppedUp, room_l: float) -> float:
    """Return what went in with a top-up; where that is not said, as much as there was room [kg]."""
    if not entry.matter:
        return 0.0
    said_kg = matter_kg(entry.matter)
    return DENSEST_KG_L * max(room_l, entry.litres) if said_kg is None else said_kg


def liquid_and_solids_l(
    entries: Sequence[Entry], vessel: Vessel, at: datetime
) -> tuple[float, float]:
    """Return what a vessel held by the journal, without what evaporated.

    Parameters
    ----------
    entries
        The journal, in the order of what it tells.
    vessel
        The vessel.
    at
        Aware datetime.

    Returns
    -------
    liquid_l, solids_l : float
        Liquid, and what of it must stay for the solids below; nothing for an empty vessel [L].
    """
    start = steep_in(entries, vessel.name, at)
    if start is None:
        return 0.0, 0.0
    liquid_l = filled_l(vessel, start)
    kg = matter_kg(start.matter)
    kg = USUAL_KG_L * liquid_l if kg is None else kg
    for entry in entries:
        if not start.at <= entry.at <= at or getattr(entry, "vessel", None) != vessel.name:
            continue
        if isinstance(entry, DrawnOff | Decanted):
            liquid_l = max(liquid_l - entry.litres, 0.0)
        elif isinstance(entry, ToppedUp):
            kg += top_up_kg(entry, vessel.liquid_l - liquid_l)
            liquid_l += entry.litres
    return liquid_l, SETTLED_L_A_KG * kg
