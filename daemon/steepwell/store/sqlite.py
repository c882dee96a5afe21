"""What is particular to SQLite: settings of a connection, insert-or-ignore, the backup."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from functools import lru_cache
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sqlalchemy import URL, Connection, Engine, create_engine, event, make_url
from sqlalchemy.exc import ArgumentError

from steepwell.errors import StoreError
from steepwell.store.rows import time_spans

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from sqlalchemy.engine.interfaces import DBAPIConnection
    from sqlalchemy.pool import ConnectionPoolEntry

    from steepwell.store.rows import Row, Verdict

# What the driver raises when asked directly, and which of it is trouble with the file.
DRIVER_ERROR = sqlite3.DatabaseError
DRIVER_TROUBLE = (sqlite3.OperationalError, sqlite3.DatabaseError)

BUSY_TIMEOUT_MS = 5000
FOR_WRITING = "steepwell_for_writing"

# Rows in one statement. The driver lets other threads run after each step of a statement, so that
# row by row the writer and the network thread would wait for each other all the time.
LOTS = (128, 16, 1)

_INSERT_READINGS = "INSERT OR IGNORE INTO reading (time_ms, sensor, value, flag, reason) VALUES "
_INSERT_SEEN = "INSERT OR REPLACE INTO seen_message (packet_id, digest, number) VALUES "
_NOTE_NEWEST = """
UPDATE sensor SET newest_ms = new.column2 FROM (VALUES {rows}) AS new
WHERE sensor.id = new.column1 AND (sensor.newest_ms IS NULL OR sensor.newest_ms < new.column2)
"""
_JUDGE = """
UPDATE reading SET flag = ?, reason = ?
WHERE time_ms = ? AND sensor = ? AND flag = 2 AND reason IS NULL
"""
# What comes, or is flagged, after the mirror has passed its time has to be sent once more.
_NOTE_UNSENT = """
INSERT INTO mirror_span (sensor, first_ms, last_ms)
SELECT sensor.id, new.column2, min(new.column3, sensor.mirrored_ms)
FROM (VALUES {rows}) AS new JOIN sensor ON sensor.id = new.column1
WHERE new.column2 <= sensor.mirrored_ms
"""


def store_file(url: str) -> Path:
    """Return the file a store's address names.

    Parameters
    ----------
    url
        Address as in the garden file, for instance ``sqlite:///steepwell.db``.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    StoreError
        If it is no address of an SQLite file.
    """
    wanted = (
        'write the store as "sqlite:///steepwell.db", or "postgresql+psycopg://user@host/garden"'
    )
    try:
        parsed: URL = make_url(url)
    except ArgumentError:
        raise StoreError(f"{url!r} is no address of a store; {wanted}") from None
    if parsed.get_backend_name() != "sqlite" or parsed.database in {None, "", ":memory:"}:
        raise StoreError(f"{url!r} is no SQLite file; {wanted}")
    return Path(str(parsed.database))


def sqlite_engine(file: Path, *, read_only: bool) -> Engine:
    """Return an engine whose every connection is durable, patient and begins as it is told.

    A commit is on the disk when it returns (write-ahead log, synchronous=FULL). Transactions that
    will write say so when they begin, so that two writers wait for one another instead of failing.
    """
    engine = create_engine(URL.create("sqlite", database=str(file)))

    @event.listens_for(engine, "connect")
    def _set_up(dbapi_connection: DBAPIConnection, _entry: ConnectionPoolEntry) -> None:
        raw: Any = dbapi_connection
        raw.isolation_level = None
        raw.execute(f"PRAGMA busy_timeout = {BUSY_TIMEOUT_MS}")
        raw.execute("PRAGMA foreign_keys = ON")
        raw.execute("PRAGMA synchronous = FULL")
        if read_only:
            raw.execute("PRAGMA query_only = ON")
        else:
            raw.execute("PRAGMA journal_mode = WAL")

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        if connection.get_execution_options().get(FOR_WRITING, False):
            connection.exec_driver_sql("BEGIN IMMEDIATE")
        else:
            # Touches no file yet, so that nothing can go wrong which SQLAlchemy would have to tell.
            _driver(connection).execute("BEGIN")

    return engine


def insert_readings(connection: Connection, rows: Sequence[Row]) -> int:
    """Insert the rows whose sensor and time are free, and return how many that were."""
    return _insert(_driver(connection), _INSERT_READINGS, rows)


def insert_all_or_none(connection: Connection, rows: Sequence[Row]) -> bool:
    """Insert rows if sensor and time of every one of them are free; return whether that is so."""
    driver = _driver(connection)
    driver.execute("SAVEPOINT all_or_none")
    were_free = _insert(driver, _INSERT_READINGS, rows) == len(rows)
    if not were_free:
        driver.execute("ROLLBACK TO all_or_none")
    driver.execute("RELEASE all_or_none")
    return were_free


def remember_seen(connection: Connection, rows: Sequence[tuple[int, bytes, int]]) -> None:
    """Write packet identifiers, each with its digest and number, over what was there."""
    _insert(_driver(connection), _INSERT_SEEN, rows)


def note_newest(connection: Connection, newest_ms: Mapping[int, int]) -> None:
    """Move the newest reading of sensors on to a time [ms since 1970], never back."""
    statement = _NOTE_NEWEST.format(rows=_places(len(newest_ms), 2))
    _driver(connection).execute(statement, list(chain.from_iterable(newest_ms.items())))


def note_unsent(connection: Connection, spans: Mapping[int, tuple[int, int]]) -> None:
    """Note the first and last time [ms since 1970] of what changed, by sensor, for the mirror."""
    rows = [(number, *span) for number, span in spans.items()]
    statement = _NOTE_UNSENT.format(rows=_places(len(rows), 3))
    _driver(connection).execute(statement, list(chain.from_iterable(rows)))


def judge_readings(connection: Connection, rows: Sequence[Verdict]) -> None:
    """Write flag and reason of readings that wait for it, each with its time and sensor."""
    _driver(connection).executemany(_JUDGE, rows)
    if rows:
        note_unsent(connection, time_spans((row[2], row[3]) for row in rows))


def _insert(driver: sqlite3.Connection, head: str, rows: Sequence[tuple[object, ...]]) -> int:
    """Insert rows in lots, and return how many were inserted."""
    inserted = start = 0
    for lot in LOTS:
        statement = head + _places(lot, len(rows[0]))
        while len(rows) - start >= lot:
            values = list(chain.from_iterable(rows[start : start + lot]))
            inserted += driver.execute(statement, values).rowcount
            start += lot
    return inserted


@lru_cache(maxsize=256)
def _places(rows: int, columns: int) -> str:
    one = f"({', '.join('?' * columns)})"
    return ", ".join([one] * rows)


def _driver(connection: Connection) -> sqlite3.Connection:
    """Return the driver's own connection: SQLAlchemy costs as much as decoding the messages."""
    driver: sqlite3.Connection = connection.connection.driver_connection  # type: ignore[assignment]
    return driver


def back_up(file: Path, copy: Path) -> None:
    """Copy a store, open or not, to another file, and have it on the disk.

    Parameters
    ----------
    file
        The store.
    copy
        Where the copy goes; a file that is there already is replaced.

    Raises
    ------
    StoreError
        If it cannot be read, or there is no room.
    """
    copy.unlink(missing_ok=True)
    try:
        with closing(sqlite3.connect(file)) as source, closing(sqlite3.connect(copy)) as target:
            source.backup(target)
        make_whole(copy)
    except sqlite3.Error as error:
        copy.unlink(missing_ok=True)
        raise StoreError(
            f"the store {file} cannot be copied to {copy} ({error}); see that there is room and "
            "that the folder can be written"
        ) from error


def make_whole(file: Path) -> None:
    """Make a database one file, which is read without making others beside it."""
    with closing(sqlite3.connect(file)) as connection:
        connection.execute("PRAGMA journal_mode = DELETE")


def says_damaged(error: object) -> bool:
    """Return whether an error of the driver means that the file itself is damaged."""
    code: int = getattr(error, "sqlite_errorcode", sqlite3.SQLITE_OK)
    return code & 0xFF in {sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB}


def damage(file: Path, *, thorough: bool) -> str | None:
    """Return what is wrong with a database, None for a sound one.

    Parameters
    ----------
    file
        The database.
    thorough
        Whether indexes are held against their tables too, which takes longer.

    Returns
    -------
    str or None
        What SQLite found first.
    """
    check = "integrity_check" if thorough else "quick_check"
    try:
        with closing(sqlite3.connect(file)) as connection:
            connection.execute(f"PRAGMA busy_timeout = {BUSY_TIMEOUT_MS}")
            found: str = connection.execute(f"PRAGMA {check}(1)").fetchone()[0]
    except sqlite3.DatabaseError as error:
        return str(error)
    return None if found == "ok" else found
