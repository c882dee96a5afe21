"""Messages without a time of their own that are in the store already."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import func, select

from steepwell.store.tables import seen_message

if TYPE_CHECKING:
    from steepwell.store.database import Database


class SeenMessages:
    """Packet identifier and digest of the last message that used each identifier.

    They are written in the transaction that holds the reading (see ``Batch.seen``).

    Parameters
    ----------
    database
        Where they are.
    """

    def __init__(self, database: Database) -> None:
        self._database = database

    def last(self, packet_id: int) -> tuple[bytes, int] | None:
        """Return digest and running number of the last message with an identifier, or None."""
        question = select(seen_message.c.digest, seen_message.c.number).where(
            seen_message.c.packet_id == packet_id
        )
        with self._database.reading() as connection:
            found = connection.execute(question).first()
        return None if found is None else (found.digest, found.number)

    def newest_number(self) -> int:
        """Return the running number of the newest message, 0 before the first."""
        with self._database.reading() as connection:
            return connection.execute(select(func.max(seen_message.c.number))).scalar() or 0
