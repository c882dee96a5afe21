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
from steepwell.words.saying import say, say_count

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
        raise JournalError(say("refused.holds-a-steep", vessel=entry.vessel, day=held.at.date()))
    following = next_turn(existing, entry.vessel, entry.at)
    if isinstance(following, SteepStarted):
        raise JournalError(
            say("refused.filled-again", vessel=entry.vessel, day=following.at.date())
        )
    vessel = _vessel(garden, entry.vessel)
    if entry.water_l is not None and entry.water_l > vessel.volume:
        raise JournalError(
            say(
                "refused.more-than-it-holds",
                litres=f"{entry.water_l:g}",
                vessel=vessel.name,
                holds=f"{vessel.volume:g}",
            )
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
        raise JournalError(_holds_none(entry, existing))
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


def _holds_none(entry: OfSteep, existing: Sequence[Entry]) -> str:
    """Return that a vessel is empty, since when, and what to do about it."""
    emptied = [
        other.at
        for other in existing
        if isinstance(other, VesselEmptied)
        and other.vessel == entry.vessel
        and other.at <= entry.at
    ]
    if not emptied:
        return say("refused.holds-none", vessel=entry.vessel, day=entry.at.date())
    return say(
        "refused.was-emptied",
        vessel=entry.vessel,
        day=entry.at.date(),
        emptied=max(emptied).date(),
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
            say(
                "refused.more-than-above-solids",
                litres=f"{entry.litres:g}",
                vessel=vessel.name,
                above=f"{above_l:.0f}",
                liquid=f"{liquid_l:.0f}",
            )
        )


def _check_room(entry: ToppedUp, vessel: Vessel, existing: Sequence[Entry]) -> None:
    liquid_l, _ = liquid_and_solids_l(existing, vessel, entry.at)
    room_l = max(vessel.liquid_l - liquid_l, 0.0)
    if entry.litres > room_l + ROUGHLY_L:
        raise JournalError(
            say(
                "refused.no-room",
                litres=f"{entry.litres:g}",
                vessel=vessel.name,
                room=f"{room_l:.0f}",
            )
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
            say_count(
                "refused.too-young",
                vessel.least_days,
                vessel=vessel.name,
                started=start.at.date(),
                days=f"{vessel.least_days:g}",
                ready=ready.date(),
            )
        )
