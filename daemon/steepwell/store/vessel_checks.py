"""Whether what is noted of a vessel can be: a steep in it, liquid above the solids, room, age."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from steepwell.errors import JournalError
from steepwell.store.entry_kinds import (
    BeanTest,
    ConductivityMeasured,
    Decanted,
    DrawnOff,
    Fed,
    ReadyConfirmed,
    SteepStarted,
    TooStrong,
    ToppedUp,
    VesselEmptied,
)
from steepwell.store.matter_checks import check_matter
from steepwell.store.steeps import next_turn, steep_in
from steepwell.store.vessel_litres import liquid_and_solids_l

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.garden.garden import Garden
    from steepwell.garden.growing import Vessel
    from steepwell.store.entry_kinds import Entry

OfSteep = (
    BeanTest
    | ConductivityMeasured
    | Decanted
    | DrawnOff
    | Fed
    | ReadyConfirmed
    | TooStrong
    | ToppedUp
    | VesselEmptied
)
# A jug is not read more closely than this.
ROUGHLY_L = 0.5


def check_is_empty(entry: SteepStarted, garden: Garden, existing: Sequence[Entry]) -> None:
    """Raise a JournalError if a vessel that is filled holds a steep, or overflows with it."""
    held = steep_in(existing, entry.vessel, entry.at)
    if held is not None:
        raise JournalError(
            f"{entry.vessel!r} holds a steep started on {held.at:%Y-%m-%d}; "
            "note that it was emptied first"
        )
    following = next_turn(existing, entry.vessel, entry.at)
    if isinstance(following, SteepStarted):
        raise JournalError(
            f"{entry.vessel!r} was filled again on {following.at:%Y-%m-%d}; note with its date "
            "that it was emptied in between"
        )
    vessel = _vessel(garden, entry.vessel)
    if entry.water_l is not None and entry.water_l > vessel.volume:
        raise JournalError(
            f"{entry.water_l:g} L is more than {vessel.name!r} holds ({vessel.volume:g} L); "
            "measure it again"
        )


def check_of_steep(entry: OfSteep, garden: Garden, existing: Sequence[Entry]) -> None:
    """Raise a JournalError if an entry about a steep cannot be.

    Parameters
    ----------
    entry
        The entry; its vessel is one of the garden.
    garden
        The garden.
    existing
        The journal.

    Raises
    ------
    JournalError
        The message says what is so and what to do.
    """
    start = steep_in(existing, entry.vessel, entry.at)
    if start is None:
        raise JournalError(
            f"{entry.vessel!r} holds no steep on {entry.at:%Y-%m-%d}{_since(entry, existing)}"
        )
    vessel = _vessel(garden, entry.vessel)
    match entry:
        case DrawnOff() | Decanted():
            _check_above_solids(entry, vessel, existing)
        case ToppedUp():
            _check_room(entry, vessel, existing)
            check_matter(entry.matter, garden, existing, entry.at)
        case Fed():
            _check_old_enough(entry, start, vessel, existing)
        case _:
            pass


def _since(entry: OfSteep, existing: Sequence[Entry]) -> str:
    """Return since when a vessel is empty, and what to do about it."""
    emptied = [
        other.at
        for other in existing
        if isinstance(other, VesselEmptied)
        and other.vessel == entry.vessel
        and other.at <= entry.at
    ]
    if not emptied:
        return "; note first, with its date, that one was started"
    return (
        f", for it was emptied on {max(emptied):%Y-%m-%d}; if this was before that, note it with "
        "its time; if it was filled anew, note that first"
    )


def _vessel(garden: Garden, name: str) -> Vessel:
    return next(vessel for vessel in garden.vessel if vessel.name == name)


def _check_above_solids(
    entry: DrawnOff | Decanted, vessel: Vessel, existing: Sequence[Entry]
) -> None:
    liquid_l, solids_l = liquid_and_solids_l(existing, vessel, entry.at)
    above_l = max(liquid_l - solids_l, 0.0)
    if entry.litres > above_l + ROUGHLY_L:
        raise JournalError(
            f"{entry.litres:g} L is more than stands above the solids in {vessel.name!r} "
            f"({above_l:.0f} of {liquid_l:.0f} L); measure it again, or note first what was "
            "topped up"
        )


def _check_room(entry: ToppedUp, vessel: Vessel, existing: Sequence[Entry]) -> None:
    liquid_l, _ = liquid_and_solids_l(existing, vessel, entry.at)
    room_l = max(vessel.liquid_l - liquid_l, 0.0)
    if entry.litres > room_l + ROUGHLY_L:
        raise JournalError(
            f"{entry.litres:g} L is more than {vessel.name!r} has room for ({room_l:.0f} L below "
            "its headspace, which stays free for gas); measure it again, or note first what was "
            "drawn off"
        )


def _check_old_enough(
    entry: Fed, start: SteepStarted, vessel: Vessel, existing: Sequence[Entry]
) -> None:
    seen = any(
        isinstance(other, ReadyConfirmed)
        and other.vessel == entry.vessel
        and start.at <= other.at <= entry.at
        for other in existing
    )
    if not seen and entry.at - start.at < timedelta(days=vessel.least_days):
        ready = start.at + timedelta(days=vessel.least_days)
        raise JournalError(
            f"the feed in {vessel.name!r} is not ready: it was started on {start.at:%Y-%m-%d} and "
            f"takes {vessel.least_days:g} days at least, to {ready:%Y-%m-%d}. If it looks ready, "
            f"note that first: ready-confirmed {vessel.name}"
        )
