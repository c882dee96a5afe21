"""Messages that could not be understood: the newest of them, and how many there were."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import func, select

from steepwell.clock import to_ms
from steepwell.store.tables import refused

if TYPE_CHECKING:
    from datetime import datetime

    from steepwell.store.database import Database


@dataclass(frozen=True, slots=True)
class Refused:
    """A message that was not understood: when it came, where, its first 256 bytes, why."""

    time_ms: int
    topic: str
    payload: bytes
    reason: str


class RefusedMessages:
    """The newest 10,000 refused messages.

    Parameters
    ----------
    database
        Where they are.
    """

    def __init__(self, database: Database) -> None:
        self._database = database

    def count(self, now: datetime) -> int:
        """Return how many messages have been refused up to ``now``, those no longer kept too."""
        question = select(func.max(refused.c.id)).where(refused.c.time_ms <= to_ms(now))
        with self._database.reading() as connection:
            return connection.execute(question).scalar() or 0

    def newest(self, count: int) -> list[Refused]:
        """Return the newest refused messages, newest first."""
        question = (
            select(refused.c.time_ms, refused.c.topic, refused.c.payload, refused.c.reason)
            .order_by(refused.c.id.desc())
            .limit(count)
        )
        with self._database.reading() as connection:
            return [Refused(*row) for row in connection.execute(question)]
