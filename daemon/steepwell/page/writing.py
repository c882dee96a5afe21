"""Writes what a form says into the journal, by the same checks as everything else."""

from __future__ import annotations

from dataclasses import dataclass, field
from threading import Lock
from typing import TYPE_CHECKING, Any

from steepwell.errors import JournalError
from steepwell.sense.journal import entry_from
from steepwell.store.entries import Fed

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

    from steepwell.page.desk import Desk

Json = dict[str, Any]
MOST_KEPT = 500


def write_entry(desk: Desk, raw: Json, now: datetime) -> int:
    """Write an entry into the journal.

    Parameters
    ----------
    desk
        Where the journal is.
    raw
        The entry as it came.
    now
        The moment.

    Returns
    -------
    int
        Its number.

    Raises
    ------
    JournalError
        If it cannot be; the message says what is so and what to do.
    WorkerError
        If it cannot be found out whether a bed may be fed so.
    """
    store, garden = desk.store, desk.garden
    entry = entry_from(raw, garden, now, store.journal)
    if isinstance(entry, Fed):
        told = entry.model_dump(mode="json", by_alias=True)
        refused = desk.ask("may-be-fed", now, entry=told).get("refused")
        if refused:
            raise JournalError(str(refused))
    with store.transaction():
        entry = entry_from(raw, garden, now, store.journal)
        return store.journal.append(entry, now)


@dataclass(slots=True)
class Once:
    """Has a form that is sent twice, by a second tap, write once."""

    _written: dict[str, int] = field(default_factory=dict)
    _lock: Lock = field(default_factory=Lock)

    def write(self, mark: str, write: Callable[[], int]) -> int:
        """Return the number of what is written, or was under the same mark.

        Parameters
        ----------
        mark
            What makes this form this form; without one nothing is known of it.
        write
            Writes, and returns a number.
        """
        with self._lock:
            if mark not in self._written or not mark:
                self._written[mark] = write()
                if len(self._written) > MOST_KEPT:
                    del self._written[next(iter(self._written))]
            return self._written[mark]
