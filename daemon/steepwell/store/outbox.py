"""Messages that wait to be handed over, by mail or another way."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

from sqlalchemy import bindparam, func, select, update

from steepwell.clock import from_ms, to_ms
from steepwell.store.tables import outbox

if TYPE_CHECKING:
    from datetime import datetime

    from steepwell.store.database import Database


MAIL = "mail"
_WAITS = (outbox.c.delivered_ms.is_(None), outbox.c.handed_on_ms.is_(None))
_NEVER_WAITS_FOR = timedelta(days=1)
_DUE = (
    select(
        outbox.c.id,
        outbox.c.key,
        outbox.c.to,
        outbox.c.message,
        outbox.c.attempts,
        outbox.c.person,
        outbox.c.way,
    )
    .where(
        *_WAITS,
        (outbox.c.next_try_ms <= bindparam("now")) | (outbox.c.next_try_ms > bindparam("too_long")),
    )
    .order_by(outbox.c.id)
)


@dataclass(frozen=True, slots=True)
class OutboxItem:
    """A message whose time has come: its key, whom it is for and by which way, how often tried."""

    id: int
    key: str
    to: str
    message: bytes
    attempts: int
    person: str | None = None
    way: str = MAIL


@dataclass(frozen=True, slots=True)
class Stuck:
    """Messages that a way of a person has not taken: how many, since when, and why not."""

    person: str
    way: str
    count: int
    since: datetime
    reason: str


_LATER = outbox.alias("later")
# What failed and waits, but for ways that took something put since.
_STUCK = (
    select(
        func.coalesce(outbox.c.person, outbox.c.to),
        outbox.c.way,
        func.count(),
        func.min(outbox.c.put_ms),
        func.max(outbox.c.last_reason),
    )
    .where(
        outbox.c.delivered_ms.is_(None),
        outbox.c.attempts > 0,
        ~select(_LATER.c.id)
        .where(
            _LATER.c.way == outbox.c.way,
            func.coalesce(_LATER.c.person, "") == func.coalesce(outbox.c.person, ""),
            _LATER.c.delivered_ms > outbox.c.put_ms,
        )
        .exists(),
    )
    .group_by(func.coalesce(outbox.c.person, outbox.c.to), outbox.c.way)
)


class Outbox:
    """A message is put here with the state that caused it, and leaves when somebody took it.

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
        person: str | None = None,
        way: str = MAIL,
    ) -> None:
        """Put a message into the outbox; one with the same key is kept once.

        Parameters
        ----------
        key
            What makes this message this one, for instance the letter of one week to one person.
        to
            Mail address, or the person.
        message
            The mail as it goes over the wire, or headline and text in JSON.
        now
            Aware datetime.
        person
            Whom it is for.
        way
            How it goes.
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
                    next_try_ms=to_ms(now),
                    attempts=0,
                    person=person,
                    way=way,
                )
            )

    def due(self, now: datetime) -> list[OutboxItem]:
        """Return the messages to try at ``now``, oldest first.

        Nothing waits for a day: what does was put or tried while the clock was ahead.
        """
        asked = {"now": to_ms(now), "too_long": to_ms(now + _NEVER_WAITS_FOR)}
        with self._database.reading() as connection:
            return [OutboxItem(*row) for row in connection.execute(_DUE, asked)]

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

    def hand_on(self, item: OutboxItem, way: str, to: str, message: bytes, now: datetime) -> None:
        """Give a message to another way, in the same transaction in which the first is given up."""
        with self._database.transaction() as connection:
            connection.execute(
                update(outbox).where(outbox.c.id == item.id).values(handed_on_ms=to_ms(now))
            )
            self.put(f"{item.key}+{way}", to, message, now, person=item.person, way=way)

    def stuck(self) -> list[Stuck]:
        """Return what was tried in vain and waits, and what was handed on and not taken since.

        A way that something was handed on from counts as stuck until it takes a message again.
        """
        with self._database.reading() as connection:
            rows = connection.execute(_STUCK).all()
        return [Stuck(who, way, count, from_ms(ms), why or "") for who, way, count, ms, why in rows]

    def waiting(self, now: datetime) -> int:
        """Return how many messages put in up to ``now`` are not handed over."""
        question = select(func.count()).where(*_WAITS, outbox.c.put_ms <= to_ms(now))
        with self._database.reading() as connection:
            return connection.execute(question).scalar_one()
