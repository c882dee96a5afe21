"""Mail that waits to be handed over."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import func, select, update

from steepwell.clock import to_ms
from steepwell.store.tables import outbox

if TYPE_CHECKING:
    from datetime import datetime

    from steepwell.store.database import Database


@dataclass(frozen=True, slots=True)
class OutboxItem:
    """A mail whose time has come: its key, whom it is for, how often it was tried."""

    id: int
    key: str
    to: str
    message: bytes
    attempts: int


class Outbox:
    """Mail is put here with the state that caused it, and leaves when a mail server took it.

    Parameters
    ----------
    database
        Where it is.
    """

    def __init__(self, database: Database) -> None:
        self._database = database

    def put(
        self,
        key: str,
        to: str,
        message: bytes,
        now: datetime,
        *,
        not_before: datetime | None = None,
    ) -> None:
        """Put a mail into the outbox; one with the same key is kept once.

        Parameters
        ----------
        key
            What makes this mail this mail, for instance the letter of one week to one person.
        to
            Mail address.
        message
            The mail as it goes over the wire.
        now
            Aware datetime.
        not_before
            When to try it first, if not at once.
        """
        held = select(outbox.c.id).where(outbox.c.key == key)
        with self._database.transaction() as connection:
            if connection.execute(held).first() is not None:
                return
            connection.execute(
                outbox.insert().values(
                    key=key,
                    to=to,
                    message=message,
                    put_ms=to_ms(now),
                    next_try_ms=to_ms(not_before or now),
                    attempts=0,
                )
            )

    def due(self, now: datetime) -> list[OutboxItem]:
        """Return the mails to try at ``now``, oldest first."""
        question = (
            select(outbox.c.id, outbox.c.key, outbox.c.to, outbox.c.message, outbox.c.attempts)
            .where(outbox.c.delivered_ms.is_(None), outbox.c.next_try_ms <= to_ms(now))
            .order_by(outbox.c.id)
        )
        with self._database.reading() as connection:
            return [OutboxItem(*row) for row in connection.execute(question)]

    def delivered(self, item_id: int, now: datetime) -> None:
        """Note that a mail was handed over."""
        with self._database.transaction() as connection:
            connection.execute(
                update(outbox)
                .where(outbox.c.id == item_id)
                .values(delivered_ms=to_ms(now), attempts=outbox.c.attempts + 1)
            )

    def failed(self, item_id: int, reason: str, next_try: datetime) -> None:
        """Note that a mail could not be handed over, why, and when to try again."""
        with self._database.transaction() as connection:
            connection.execute(
                update(outbox)
                .where(outbox.c.id == item_id)
                .values(
                    last_reason=reason,
                    next_try_ms=to_ms(next_try),
                    attempts=outbox.c.attempts + 1,
                )
            )

    def waiting(self, now: datetime) -> int:
        """Return how many mails put in up to ``now`` are not handed over."""
        question = select(func.count()).where(
            outbox.c.delivered_ms.is_(None), outbox.c.put_ms <= to_ms(now)
        )
        with self._database.reading() as connection:
            return connection.execute(question).scalar_one()
