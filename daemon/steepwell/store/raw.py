"""Readings and journal row by row as they are stored, for whoever takes them elsewhere."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Any

from sqlalchemy import select

from steepwell.clock import from_ms, to_ms
from steepwell.store.readings import Reading
from steepwell.store.tables import hour_fact, journal, reading

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from datetime import datetime

    from steepwell.store.database import Database

# So much is read at a time: no long read keeps the store from being tidied.
STEP = timedelta(days=1)


class Raw:
    """Rows in the order of time.

    Parameters
    ----------
    database
        Where they are.
    ids
        Number of each sensor in the store, by name.
    """

    def __init__(self, database: Database, ids: Mapping[str, int]) -> None:
        self._database = database
        self._names = {number: name for name, number in ids.items()}

    def begins(self) -> datetime | None:
        """Return when readings begin, kept each or as what their hour came to; None without any."""
        questions = (
            select(reading.c.time_ms).order_by(reading.c.time_ms).limit(1),
            select(hour_fact.c.hour_ms).order_by(hour_fact.c.hour_ms).limit(1),
        )
        with self._database.reading() as connection:
            found = [connection.execute(question).scalar() for question in questions]
        first_ms = min((each for each in found if each is not None), default=None)
        return None if first_ms is None else from_ms(first_ms)

    def readings(self, start: datetime, end: datetime) -> Iterator[Reading]:
        """Yield the readings of the garden's sensors, whatever their flag, a day at a time.

        Parameters
        ----------
        start, end
            Aware datetimes: ``start`` <= time < ``end``.

        Yields
        ------
        Reading
            In the order of time.
        """
        begins = self.begins()
        start = start if begins is None else max(start, begins)
        while begins is not None and start < end:
            until = min(start + STEP, end)
            question = (
                select(reading)
                .where(
                    reading.c.time_ms >= to_ms(start),
                    reading.c.time_ms < to_ms(until),
                    reading.c.sensor.in_(self._names),
                )
                .order_by(reading.c.time_ms, reading.c.sensor)
            )
            with self._database.reading() as connection:
                rows = connection.execute(question).all()
            for row in rows:
                name = self._names[row.sensor]
                yield Reading(name, row.time_ms, row.value, row.flag, row.reason)
            start = until

    def journal(self, start: datetime, end: datetime) -> list[dict[str, Any]]:
        """Return the entries of some time, withdrawn ones and what withdrew them among them.

        Parameters
        ----------
        start, end
            Aware datetimes: ``start`` <= time told of < ``end``.

        Returns
        -------
        list of dict
            ``number``, ``recorded``, ``withdrawn_by`` and what the entry says.
        """
        by = journal.alias("by")
        question = (
            select(journal.c.id, journal.c.recorded_ms, journal.c.entry, by.c.id.label("by"))
            .select_from(journal.outerjoin(by, by.c.withdraws == journal.c.id))
            .where(journal.c.at_ms >= to_ms(start), journal.c.at_ms < to_ms(end))
            .order_by(journal.c.at_ms, journal.c.id)
        )
        with self._database.reading() as connection:
            rows = connection.execute(question).all()
        return [
            {
                "number": row.id,
                "recorded": from_ms(row.recorded_ms).isoformat(),
                "withdrawn_by": row.by,
                **row.entry,
            }
            for row in rows
        ]
