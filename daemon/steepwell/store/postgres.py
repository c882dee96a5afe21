"""What is particular to PostgreSQL: settings of a connection, and many rows in one statement."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import URL, Connection, Engine, create_engine, event, make_url

from steepwell.errors import StoreError
from steepwell.store.rows import time_spans
from steepwell.store.sqlite import BUSY_TIMEOUT_MS, FOR_WRITING

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from steepwell.store.rows import Row, Verdict

DRIVER = "postgresql+psycopg"
# All who write to one database take their turns by this number.
TURN = 20_310_601

_INSERT_READINGS = """
INSERT INTO reading (time_ms, sensor, value, flag, reason)
SELECT * FROM unnest(%s::bigint[], %s::int[], %s::float8[], %s::int[], %s::text[])
ON CONFLICT DO NOTHING
"""
_INSERT_SEEN = """
INSERT INTO seen_message (packet_id, digest, number)
SELECT * FROM unnest(%s::int[], %s::bytea[], %s::bigint[])
ON CONFLICT (packet_id) DO UPDATE SET digest = excluded.digest, number = excluded.number
"""
_NOTE_NEWEST = """
UPDATE sensor SET newest_ms = new.newest_ms
FROM unnest(%s::int[], %s::bigint[]) AS new (id, newest_ms)
WHERE sensor.id = new.id AND (sensor.newest_ms IS NULL OR sensor.newest_ms < new.newest_ms)
"""
_JUDGE = """
UPDATE reading SET flag = new.flag, reason = new.reason
FROM unnest(%s::int[], %s::text[], %s::bigint[], %s::int[]) AS new (flag, reason, time_ms, sensor)
WHERE reading.time_ms = new.time_ms AND reading.sensor = new.sensor
AND reading.flag = 2 AND reading.reason IS NULL
"""
_NOTE_UNSENT = """
INSERT INTO mirror_span (sensor, first_ms, last_ms)
SELECT sensor.id, new.first_ms, least(new.last_ms, sensor.mirrored_ms)
FROM unnest(%s::int[], %s::bigint[], %s::bigint[]) AS new (id, first_ms, last_ms)
JOIN sensor ON sensor.id = new.id
WHERE new.first_ms <= sensor.mirrored_ms
"""


def is_postgres(url: str) -> bool:
    """Return whether an address of a store is one of PostgreSQL."""
    return url.startswith("postgresql")


def postgres_engine(url: str, password: str | None, *, read_only: bool) -> Engine:
    """Return an engine whose every connection is durable, patient and begins as it is told.

    Who will write waits for his turn when he begins; who reads sees one moment throughout.

    Parameters
    ----------
    url
        The address; without a password, which may also be in the environment or a file of libpq's.
    password
        The password, if it is known.
    read_only
        Refuse to write.

    Raises
    ------
    StoreError
        If the driver is not installed.
    """
    address: URL = make_url(url).set(drivername=DRIVER)
    if password is not None:
        address = address.set(password=password)
    options = f"-c lock_timeout={BUSY_TIMEOUT_MS} -c synchronous_commit=on -c timezone=UTC"
    if read_only:
        options += " -c default_transaction_read_only=on"
    settings = {"options": options, "application_name": "steepwell", "connect_timeout": 10}
    try:
        engine = create_engine(address, connect_args=settings, pool_pre_ping=True)
    except ModuleNotFoundError:
        raise StoreError(
            "a store in PostgreSQL needs its driver; install it with pip install "
            '"steepwell[postgres]"'
        ) from None

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        if connection.get_execution_options().get(FOR_WRITING, False):
            connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({TURN})")
        else:
            connection.exec_driver_sql("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")

    return engine


def insert_readings(connection: Connection, rows: Sequence[Row]) -> int:
    """Insert the rows whose sensor and time are free, and return how many that were."""
    return connection.exec_driver_sql(_INSERT_READINGS, _columns(rows)).rowcount


def insert_all_or_none(connection: Connection, rows: Sequence[Row]) -> bool:
    """Insert rows if sensor and time of every one of them are free; return whether that is so."""
    attempt = connection.begin_nested()
    were_free = insert_readings(connection, rows) == len(rows)
    if were_free:
        attempt.commit()
    else:
        attempt.rollback()
    return were_free


def remember_seen(connection: Connection, rows: Sequence[tuple[int, bytes, int]]) -> None:
    """Write packet identifiers, each with its digest and number, over what was there."""
    last = {row[0]: row for row in rows}
    connection.exec_driver_sql(_INSERT_SEEN, _columns(list(last.values())))


def note_newest(connection: Connection, newest_ms: Mapping[int, int]) -> None:
    """Move the newest reading of sensors on to a time [ms since 1970], never back."""
    connection.exec_driver_sql(_NOTE_NEWEST, _columns(list(newest_ms.items())))


def note_unsent(connection: Connection, spans: Mapping[int, tuple[int, int]]) -> None:
    """Note the first and last time [ms since 1970] of what changed, by sensor, for the mirror."""
    rows = [(number, *span) for number, span in spans.items()]
    connection.exec_driver_sql(_NOTE_UNSENT, _columns(rows))


def judge_readings(connection: Connection, rows: Sequence[Verdict]) -> None:
    """Write flag and reason of readings that wait for it, each with its time and sensor."""
    if rows:
        connection.exec_driver_sql(_JUDGE, _columns(rows))
        note_unsent(connection, time_spans((row[2], row[3]) for row in rows))


def _columns(rows: Sequence[tuple[object, ...]]) -> tuple[list[object], ...]:
    return tuple(list(column) for column in zip(*rows, strict=True))
