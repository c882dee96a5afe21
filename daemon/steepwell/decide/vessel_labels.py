"""What the labels of vessels and of decanted feed say."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from steepwell.decide.dosing import dose
from steepwell.decide.locks import locks_on, plant_family
from steepwell.garden.days import local_day
from steepwell.model.dilution import LADDER
from steepwell.store.entries import ToppedUp
from steepwell.store.steeps import next_turn, steep_in
from steepwell.store.stores import stores_at

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import datetime

    from steepwell.garden.garden import Garden
    from steepwell.garden.growing import Vessel
    from steepwell.outlook.state import State
    from steepwell.store.entries import Decanted, Entry

Json = dict[str, Any]


def label_facts(garden: Garden, state: State, entries: Sequence[Entry]) -> list[Json]:
    """Return what the label of each vessel says that holds a steep, and of each store of feed.

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
        In the order of the garden file, each with what was decanted from the vessel after it, until
        that is noted as emptied.
    """
    stores = stores_at(entries, state.now)
    facts = []
    for vessel, steep in zip(garden.vessel, state.vessels, strict=True):
        if steep.started is not None:
            why = [
                k.because for k in locks_on(garden, entries, state.today) if k.vessel == vessel.name
            ]
            begun = local_day(garden, steep.started).isoformat()
            facts.append(_fact(garden, vessel, steep.plants, begun, steep.dilution_parts, why))
        facts += [
            _store(garden, state, entries, vessel, into)
            for into in stores.values()
            if into[-1].vessel == vessel.name
        ]
    return facts


def _fact(  # noqa: PLR0917 - what stands on a label
    garden: Garden,
    vessel: Vessel,
    plants: Iterable[str],
    begun: str,
    parts: int | None,
    locks: Sequence[str],
    store: str | None = None,
) -> Json:
    return {
        "vessel": vessel.name,
        "store": store,
        "plants": list(dict.fromkeys(plants)),
        "families": list(dict.fromkeys(plant_family(plant) for plant in plants)),
        "started": begun,
        "dilution_parts": parts,
        "dose": None if parts is None else dose(garden.can.size, parts).text,
        "can_l": garden.can.size,
        "locks": list(dict.fromkeys(locks)),
    }


def _store(
    garden: Garden,
    state: State,
    entries: Sequence[Entry],
    vessel: Vessel,
    into: Sequence[Decanted],
) -> Json:
    """Return the label of a store: never thicker than what its feed may have come to."""
    steep = next(each for each in state.vessels if each.vessel == vessel.name)
    starts = [start for each in into if (start := steep_in(entries, each.vessel, each.at))]
    parts: int | None = (vessel.ladder or LADDER)[-1]
    if all(start.at == steep.started for start in starts) and not steep.ended:
        # No thicker than what steeps on; where that was watered since, as thin as can be.
        watered = steep.dilution_parts is not None and _watered(entries, into)
        parts = parts if watered else steep.dilution_parts
    plants = [plant for start in starts for plant in _plants(entries, start.vessel, start.at)]
    began = min(local_day(garden, each.at) for each in starts or into).isoformat()
    why = [why for each in into for why in _locks(garden, state, entries, each)]
    return _fact(garden, vessel, plants, began, parts, why, into[-1].into)


def _watered(entries: Sequence[Entry], into: Sequence[Decanted]) -> bool:
    """Return whether the vessel has been topped up since, so that its own label says too little."""
    return any(
        isinstance(entry, ToppedUp) and entry.vessel == each.vessel and entry.at >= each.at
        for each in into
        for entry in entries
    )


def _plants(entries: Sequence[Entry], vessel: str, begun_at: datetime) -> list[str]:
    turn = next_turn(entries, vessel, begun_at)
    return [
        each.plant
        for entry in entries
        if getattr(entry, "vessel", None) == vessel
        and entry.at >= begun_at
        and (turn is None or entry.at < turn.at)
        for each in getattr(entry, "matter", ())
    ]


def _locks(garden: Garden, state: State, entries: Sequence[Entry], each: Decanted) -> list[str]:
    """Return the locks of what was decanted: sickness told later counts, other steeps do not."""
    turn = next_turn(entries, each.vessel, each.at)
    its_own = [entry for entry in entries if turn is None or entry.at < turn.at]
    found = [
        *locks_on(garden, its_own, state.today),
        *(lock for lock in locks_on(garden, entries, state.today) if lock.bars != "all-but-grass"),
    ]
    return [lock.because for lock in found if lock.vessel == each.vessel]
