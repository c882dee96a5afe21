"""Secrets made once and kept, by which the program knows its own signature again."""

from __future__ import annotations

import secrets
from typing import TYPE_CHECKING

from sqlalchemy import select

from steepwell.store.tables import secret

if TYPE_CHECKING:
    from steepwell.store.database import Database

LENGTH = 32


class Secrets:
    """Random bytes by name.

    Parameters
    ----------
    database
        Where they are.
    """

    def __init__(self, database: Database) -> None:
        self._database = database

    def known(self, name: str) -> bytes | None:
        """Return a secret, None if it was never made."""
        with self._database.reading() as connection:
            question = select(secret.c.value).where(secret.c.name == name)
            found: bytes | None = connection.execute(question).scalar()
        return found

    def made(self, name: str) -> bytes:
        """Return a secret, and make it first if there is none yet."""
        with self._database.transaction():
            return self.known(name) or self.renewed(name)

    def renewed(self, name: str) -> bytes:
        """Return a new secret in place of the old one: what that one signed is worth nothing."""
        value = secrets.token_bytes(LENGTH)
        with self._database.transaction() as connection:
            connection.execute(secret.delete().where(secret.c.name == name))
            connection.execute(secret.insert().values(name=name, value=value))
        return value
