"""The ledger: the last period each job has finished."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import bindparam, select

from steepwell.clock import from_ms, to_ms
from steepwell.store.tables import ledger

if TYPE_CHECKING:
    from datetime import datetime

    from steepwell.store.database import Database


# When something last came for which the outlook is worked out anew, readings that are long past or
# an entry that unsettles what is told, and when that was done.
LATE, CAUGHT_UP = "late-readings", "caught-up"
# When a backup was made last; the job of every night is done with when it has been tried.
BACKED_UP = "backed-up"
# Readings before this time are kept as hours only.
COMPACTED = "compacted"

_LAST = select(ledger.c.period_ms).where(ledger.c.job == bindparam("of"))
_ALL = select(ledger.c.job, ledger.c.period_ms)
_FORGET = ledger.delete().where(ledger.c.job == bindparam("of"))
_NOTE = ledger.insert()


class Ledger:
    """What has been done, so that after a power cut the rest can be caught up.

    Parameters
    ----------
    database
        Where it is.
    """

    def __init__(self, database: Database) -> None:
        self._database = database

    def last(self, job: str) -> datetime | None:
        """Return the start of the last period a job has finished, in UTC, or None."""
        with self._database.reading() as connection:
            period_ms = connection.execute(_LAST, {"of": job}).scalar()
        return None if period_ms is None else from_ms(period_ms)

    def all(self) -> dict[str, datetime]:
        """Return the start of the last period each job has finished, in UTC."""
        with self._database.reading() as connection:
            rows = connection.execute(_ALL).all()
        return {job: from_ms(period_ms) for job, period_ms in rows}

    def finish(self, job: str, period: datetime) -> None:
        """Note that a job has finished the period that starts at ``period``."""
        with self._database.transaction() as connection:
            connection.execute(_FORGET, {"of": job})
            connection.execute(_NOTE, {"job": job, "period_ms": to_ms(period)})
