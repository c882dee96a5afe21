"""Connections and transactions: one transaction a thread, or one a call."""

from __future__ import annotations

import threading
from contextlib import contextmanager
from typing import TYPE_CHECKING

from sqlalchemy.exc import DatabaseError, InternalError, OperationalError

from steepwell.errors import StoreError
from steepwell.store.sqlite import DRIVER_ERROR, DRIVER_TROUBLE, FOR_WRITING, says_damaged

if TYPE_CHECKING:
    from collections.abc import Iterator

    from sqlalchemy import Connection, Engine

# A database that may only be read says so by an error of the third kind, where it is a server.
_TROUBLE = (OperationalError, DatabaseError, InternalError, *DRIVER_TROUBLE)


class _Open(threading.local):
    """What a thread has open: a transaction to write in, a moment to read in."""

    connection: Connection | None = None
    moment: Connection | None = None


class Database:
    """Hands out connections to the parts of the store.

    Parameters
    ----------
    engine
        How to connect.
    """

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
        self._open = _Open()
        self.is_damaged = False
        """Whether something in it was found that no sound database holds."""

    @contextmanager
    def transaction(self) -> Iterator[Connection]:
        """Make everything this thread writes inside the block one transaction.

        Raises
        ------
        StoreError
            If the store stays locked, is full, or cannot be read or written.
        """
        current = self._open.connection
        if current is not None:
            yield current
            return
        with self._translated(), self._engine.connect() as plain:
            connection = plain.execution_options(**{FOR_WRITING: True})
            with connection.begin():
                self._open.connection = connection
                try:
                    yield connection
                finally:
                    self._open.connection = None

    @contextmanager
    def moment(self) -> Iterator[None]:
        """Let everything this thread reads inside the block be of one moment.

        Raises
        ------
        StoreError
            If the store cannot be read.
        """
        with self.reading() as connection:
            self._open.moment = connection
            try:
                yield
            finally:
                self._open.moment = None

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Hand out a connection to read with: the thread's transaction or moment, or a fresh one.

        Raises
        ------
        StoreError
            If the store cannot be read.
        """
        current = self._open.connection or self._open.moment
        if current is not None:
            yield current
            return
        with self._translated(), self._engine.connect() as connection:
            yield connection

    def close(self) -> None:
        """Close every connection that is not in use."""
        self._engine.dispose()

    @contextmanager
    def _translated(self) -> Iterator[None]:
        """Turn trouble with the file into our error; a fault in what we ask for stays as it is."""
        try:
            yield
        except (DatabaseError, DRIVER_ERROR) as error:
            cause = error.orig if isinstance(error, DatabaseError) else error
            self.is_damaged = self.is_damaged or says_damaged(cause)
            if type(error) not in _TROUBLE:
                raise
            raise StoreError(
                f"the store cannot be read or written ({cause}); see whether the disk is full, "
                "failing, or held by another program"
            ) from error
