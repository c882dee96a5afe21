"""Outlooks, plans and letters as they were issued, forecasts as they came, mendings."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal

from sqlalchemy import bindparam, select

from steepwell.clock import from_ms, to_ms
from steepwell.store.tables import result

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime

    from steepwell.store.database import Database
    from steepwell.store.renames import Renames

ResultKind = Literal["outlook", "plan", "letter", "forecast", "page", "mended"]

_LATEST = (
    select(result.c.document)
    .where(result.c.kind == bindparam("of"), result.c.issued_ms <= bindparam("until"))
    .order_by(result.c.issued_ms.desc())
    .limit(1)
)


class Results:
    """What the jobs came to, by kind and moment of issue.

    Parameters
    ----------
    database
        Where they are.
    renames
        What the names in them are today.
    """

    def __init__(self, database: Database, renames: Renames) -> None:
        self._database = database
        self._renames = renames

    def save(self, kind: ResultKind, issued: datetime, document: dict[str, Any]) -> None:
        """Keep a result; one issued at the same moment is replaced."""
        key = {"kind": kind, "issued_ms": to_ms(issued)}
        with self._database.transaction() as connection:
            connection.execute(result.delete().filter_by(**key))
            connection.execute(result.insert().values(**key, document=document))

    def latest(self, kind: ResultKind, now: datetime) -> dict[str, Any] | None:
        """Return the newest result of a kind issued at or before ``now``, or None."""
        asked = {"of": kind, "until": to_ms(now)}
        with self._database.reading() as connection:
            found: dict[str, Any] | None = connection.execute(_LATEST, asked).scalar()
        return None if found is None else self._renames.read(found)

    def feeds(self, start: datetime, end: datetime) -> list[tuple[datetime, dict[str, Any]]]:
        """Return the feed of every plan of some time, without the rest of it.

        Parameters
        ----------
        start, end
            Aware datetimes: ``start`` <= issued < ``end``.

        Returns
        -------
        list of tuple
            When the plan was issued, and a plan with its ``feed`` alone, in the order of issue.
        """
        question = (
            select(result.c.issued_ms, result.c.document["feed"].label("feed"))
            .where(
                result.c.kind == "plan",
                result.c.issued_ms >= to_ms(start),
                result.c.issued_ms < to_ms(end),
            )
            .order_by(result.c.issued_ms)
        )
        with self._database.reading() as connection:
            rows = connection.execute(question).all()
        return [
            (from_ms(row.issued_ms), self._renames.read({"water": [], "feed": row.feed or []}))
            for row in rows
        ]

    def between(self, kind: ResultKind, start: datetime, end: datetime) -> Iterator[dict[str, Any]]:
        """Yield the results of a kind in the order of their issue, read one at a time.

        Parameters
        ----------
        kind
            Which.
        start, end
            Aware datetimes: ``start`` <= issued < ``end``.

        Yields
        ------
        dict
            A document.
        """
        for moment in self.issued(kind, start, end):
            question = select(result.c.document).where(
                result.c.kind == kind, result.c.issued_ms == to_ms(moment)
            )
            with self._database.reading() as connection:
                yield self._renames.read(connection.execute(question).scalar_one())

    def issued(self, kind: ResultKind, start: datetime, end: datetime) -> list[datetime]:
        """Return when results of a kind were issued, in UTC: ``start`` <= issued < ``end``."""
        question = (
            select(result.c.issued_ms)
            .where(
                result.c.kind == kind,
                result.c.issued_ms >= to_ms(start),
                result.c.issued_ms < to_ms(end),
            )
            .order_by(result.c.issued_ms)
        )
        with self._database.reading() as connection:
            return [from_ms(moment) for moment in connection.execute(question).scalars()]
