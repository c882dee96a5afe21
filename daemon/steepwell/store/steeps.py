"""Which vessel holds a steep, told from the journal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from steepwell.store.entry_kinds import SteepStarted, VesselEmptied

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from steepwell.store.entry_kinds import Entry


def steep_in(entries: Sequence[Entry], vessel: str, at: datetime) -> SteepStarted | None:
    """Return the steep a vessel held at a moment.

    Parameters
    ----------
    entries
        The journal, in the order of what it tells.
    vessel
        Name of the vessel.
    at
        Aware datetime.

    Returns
    -------
    SteepStarted or None
        The entry that started it; None for an empty vessel.
    """
    turns = [entry for entry in _turns(entries, vessel) if entry.at <= at]
    return turns[-1] if turns and isinstance(turns[-1], SteepStarted) else None


def next_turn(
    entries: Sequence[Entry], vessel: str, at: datetime
) -> SteepStarted | VesselEmptied | None:
    """Return when a vessel was next filled or emptied after a moment, or None."""
    return next((entry for entry in _turns(entries, vessel) if entry.at > at), None)


def steeping_spans(
    entries: Sequence[Entry], vessel: str, now: datetime
) -> list[tuple[datetime, datetime]]:
    """Return from when to when a vessel held a steep, up to a moment.

    Parameters
    ----------
    entries
        The journal, in the order of what it tells.
    vessel
        Name of the vessel.
    now
        Aware datetime; a steep that goes on ends there.

    Returns
    -------
    list of tuple of datetime
        In the order of time.
    """
    turns = [entry for entry in _turns(entries, vessel) if entry.at <= now]
    ends = [*[entry.at for entry in turns[1:]], now]
    return (
        [
            (entry.at, end)
            for entry, end in zip(turns, ends, strict=True)
            if isinstance(entry, SteepStarted)
        ]
        if turns
        else []
    )


def _turns(entries: Sequence[Entry], vessel: str) -> list[SteepStarted | VesselEmptied]:
    return [
        entry
        for entry in entries
        if isinstance(entry, SteepStarted | VesselEmptied) and entry.vessel == vessel
    ]
