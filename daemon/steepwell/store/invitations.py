"""Who may see the page from beyond this machine: whoever has a token that was not withdrawn."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from hashlib import sha256
from typing import TYPE_CHECKING

from sqlalchemy import select, update

from steepwell.clock import from_ms, to_ms
from steepwell.store.tables import invitation

if TYPE_CHECKING:
    from datetime import datetime

    from steepwell.store.database import Database

# Too many to be guessed, so that a digest without salt gives nothing away.
TOKEN_BYTES = 24


@dataclass(frozen=True, slots=True)
class Invitation:
    """One invitation: its number, when it was made, when it was withdrawn if it was."""

    id: int
    made: datetime
    withdrawn: datetime | None


class Invitations:
    """The invitations to a garden's page, each known by the digest of its token only.

    Parameters
    ----------
    database
        Where they are.
    """

    def __init__(self, database: Database) -> None:
        self._database = database

    def add(self, now: datetime) -> str:
        """Make an invitation and return its token, which is kept nowhere.

        Parameters
        ----------
        now
            Aware datetime.

        Returns
        -------
        str
            Fit for an address.
        """
        token = secrets.token_urlsafe(TOKEN_BYTES)
        row = {"digest": _digest(token), "made_ms": to_ms(now)}
        with self._database.transaction() as connection:
            connection.execute(invitation.insert().values(row))
        return token

    def holds(self, token: str) -> bool:
        """Return whether a token belongs to an invitation that stands."""
        question = select(invitation.c.id).where(
            invitation.c.digest == _digest(token), invitation.c.withdrawn_ms.is_(None)
        )
        with self._database.reading() as connection:
            return connection.execute(question).first() is not None

    def all(self) -> list[Invitation]:
        """Return every invitation, in the order in which they were made."""
        columns = (invitation.c.id, invitation.c.made_ms, invitation.c.withdrawn_ms)
        with self._database.reading() as connection:
            rows = connection.execute(select(*columns).order_by(invitation.c.id)).all()
        return [
            Invitation(number, from_ms(made), None if withdrawn is None else from_ms(withdrawn))
            for number, made, withdrawn in rows
        ]

    def withdraw(self, number: int, now: datetime) -> bool:
        """Withdraw an invitation; return whether one of that number stood."""
        stood = update(invitation).where(
            invitation.c.id == number, invitation.c.withdrawn_ms.is_(None)
        )
        with self._database.transaction() as connection:
            return connection.execute(stood.values(withdrawn_ms=to_ms(now))).rowcount > 0


def _digest(token: str) -> bytes:
    return sha256(token.encode()).digest()
