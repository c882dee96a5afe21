"""Which stores hold feed that was decanted, told from the journal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from steepwell.store.entry_kinds import Decanted, VesselEmptied

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from steepwell.store.entry_kinds import Entry


def stores_at(entries: Sequence[Entry], at: datetime) -> dict[str, tuple[Decanted, ...]]:
    """Return what was decanted into each store that holds something.

    Parameters
    ----------
    entries
        The journal, in the order of what it tells.
    at
        Aware datetime.

    Returns
    -------
    dict
        By what the label says; a store holds something until it is noted as emptied.
    """
    kept: dict[str, tuple[Decanted, ...]] = {}
    for entry in entries:
        if entry.at > at:
            continue
        if isinstance(entry, Decanted):
            kept[entry.into] = (*kept.get(entry.into, ()), entry)
        elif isinstance(entry, VesselEmptied):
            kept.pop(entry.vessel, None)
    return kept
