"""The journal: what the gardener did or read off by hand. Nothing in it is ever changed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pydantic import TypeAdapter
from sqlalchemy import bindparam, select

from steepwell.clock import to_ms
from steepwell.store.entry_kinds import Corrected, DrawnOff, Entry, Fed, JobDone, Watered
from steepwell.store.ledger import LATE, Ledger
from steepwell.store.tables import journal

if TYPE_CHECKING:
    from collections.abc import Collection
    from datetime import datetime

    from steepwell.store.database import Database
    from steepwell.store.renames import Renames

_ENTRY: TypeAdapter[Entry] = TypeAdapter(Entry)
JOB_DONE = "job-done"
# What is told of a vessel, or of what may be watered, no longer holds once these are noted.
UNSETTLING = frozenset(
    {
        "steep-started",
        "vessel-emptied",
        "cleared",
        "sickness-seen",
        "bean-test",
        "too-strong",
        "conductivity-measured",
        "restriction",
        "corrected",
    }
)
# What one job that is done stands for.
_PARTS = frozenset(part.model_fields["kind"].default for part in (Watered, Fed, DrawnOff))

_WITHDRAWN = select(journal.c.withdraws).where(
    journal.c.withdraws.is_not(None), journal.c.at_ms <= bindparam("now")
)
_STANDS = (
    select(journal.c.id, journal.c.entry)
    .where(
        journal.c.at_ms <= bindparam("now"),
        journal.c.withdraws.is_(None),
        journal.c.id.not_in(_WITHDRAWN),
    )
    .order_by(journal.c.at_ms, journal.c.id)
)


class Journal:
    """Entries in the order of what they tell; a wrong one is withdrawn by another.

    Parameters
    ----------
    database
        Where it is.
    renames
        What its names are today.
    """

    def __init__(self, database: Database, renames: Renames) -> None:
        self._database = database
        self._renames = renames

    def append(self, entry: Entry, now: datetime) -> int:
        """Add an entry; one that unsettles what is told has the outlook worked out anew.

        Parameters
        ----------
        entry
            What to add; ``parse_entry`` has checked it.
        now
            Aware datetime.

        Returns
        -------
        int
            The number by which it can be withdrawn.
        """
        row = {
            "at_ms": to_ms(entry.at),
            "recorded_ms": to_ms(now),
            "kind": entry.kind,
            "withdraws": entry.withdraws if isinstance(entry, Corrected) else None,
            "entry": entry.model_dump(mode="json", by_alias=True),
        }
        with self._database.transaction() as connection:
            added = connection.execute(journal.insert().values(row).returning(journal.c.id))
            number: int = added.scalar_one()
            if entry.kind in UNSETTLING:
                Ledger(self._database).finish(LATE, now)
        return number

    def entries(
        self,
        now: datetime,
        *,
        since: datetime | None = None,
        kinds: Collection[str] | None = None,
    ) -> list[Entry]:
        """Return what stands in the journal at ``now``, in the order of what it tells.

        Parameters
        ----------
        now
            Aware datetime; later entries, and later corrections, are not seen.
        since
            Leave out what was before.
        kinds
            Leave out all other kinds.

        Returns
        -------
        list of Entry
            Ordered by time and number, each with its number; neither withdrawn entries nor the
            corrections that withdrew them are in it. A job that is done is followed by what it
            writes, under the same number.
        """
        question = _STANDS
        if since is not None:
            question = question.where(journal.c.at_ms >= to_ms(since))
        if kinds is not None:
            asked = {*kinds, JOB_DONE} if _PARTS & set(kinds) else set(kinds)
            question = question.where(journal.c.kind.in_(asked))
        with self._database.reading() as connection:
            rows = connection.execute(question, {"now": to_ms(now)}).all()
        stored = (
            _ENTRY.validate_python({**self._renames.read(row.entry), "id": row.id}) for row in rows
        )
        told = (each for entry in stored for each in _with_parts(entry))
        return [each for each in told if kinds is None or each.kind in kinds]


def _with_parts(entry: Entry) -> tuple[Entry, ...]:
    return (entry, *entry.parts()) if isinstance(entry, JobDone) else (entry,)
