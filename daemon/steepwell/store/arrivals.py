"""What one batch of messages leaves in the store, and how it is written."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple

from sqlalchemy import bindparam, func, or_, select, update

from steepwell.store import sqlite, tables

if TYPE_CHECKING:
    from sqlalchemy import Connection

# Time [ms since 1970], number of the sensor, value in base units, flag, reason for the flag.
Row = tuple[int, int, float, int, str | None]

KEPT_REFUSED = 10_000
KEPT_PAYLOAD_BYTES = 256

_VALUE_AT = select(tables.reading.c.value).where(
    tables.reading.c.time_ms == bindparam("at"), tables.reading.c.sensor == bindparam("of")
)
_NEWER = (
    update(tables.sensor)
    .where(
        tables.sensor.c.id == bindparam("of"),
        or_(tables.sensor.c.newest_ms.is_(None), tables.sensor.c.newest_ms < bindparam("at")),
    )
    .values(newest_ms=bindparam("at"))
)
_TRIM_REFUSED = tables.refused.delete().where(
    tables.refused.c.id <= select(func.max(tables.refused.c.id) - KEPT_REFUSED).scalar_subquery()
)


@dataclass(slots=True)
class Batch:
    """What a batch of messages comes to.

    Attributes
    ----------
    timed
        Readings that carried their own time: there is one for each sensor and time.
    origins
        Time of arrival [ms], topic and payload of each of ``timed``, in case it is refused.
    arrived
        Readings timed by their arrival: each moves on to the next free millisecond.
    seen
        Packet identifier, digest and running number of messages timed by their arrival.
    forget_seen
        Whether those of earlier batches belong to a session that is over.
    refused
        Time of arrival [ms], topic, payload and reason of what was not understood.
    """

    timed: list[Row] = field(default_factory=list)
    origins: list[tuple[int, str, bytes]] = field(default_factory=list)
    arrived: list[Row] = field(default_factory=list)
    seen: list[tuple[int, bytes, int]] = field(default_factory=list)
    forget_seen: bool = False
    refused: list[tuple[int, str, bytes, str]] = field(default_factory=list)


class Written(NamedTuple):
    """What became of a batch: readings stored, repeats dropped, messages refused."""

    stored: int
    repeats: int
    refused: int


def write_batch(connection: Connection, batch: Batch) -> Written:
    """Write a batch within an open transaction.

    Parameters
    ----------
    connection
        In a transaction.
    batch
        What to write. A reading of a sensor and time that is there already is a repeat when its
        value is the same, and is kept as refused when it differs.

    Returns
    -------
    Written
        What became of it.
    """
    stored, repeats, refused = 0, 0, list(batch.refused)
    if batch.timed and not _all_new(connection, batch.timed):
        for row, origin in zip(batch.timed, batch.origins, strict=True):
            if _is_new(connection, row):
                stored += 1
            elif (held := _value(connection, row)) == row[2]:
                repeats += 1
            else:
                refused.append((*origin, _another_value(row[2], held)))
    else:
        stored += len(batch.timed)
    if batch.arrived and not _all_new(connection, batch.arrived):
        for row in batch.arrived:
            moved = row
            while not _is_new(connection, moved):
                moved = (moved[0] + 1, *moved[1:])
    stored += len(batch.arrived)
    if batch.forget_seen:
        connection.execute(tables.seen_message.delete())
    if batch.seen:
        connection.exec_driver_sql(sqlite.INSERT_SEEN, batch.seen)
    _keep_refused(connection, refused)
    _note_newest(connection, batch)
    return Written(stored, repeats, len(refused))


def _all_new(connection: Connection, rows: list[Row]) -> bool:
    """Insert all rows at once; leave no trace if one of them is there already."""
    attempt = connection.begin_nested()
    if connection.exec_driver_sql(sqlite.INSERT_READING, rows).rowcount == len(rows):
        attempt.commit()
        return True
    attempt.rollback()
    return False


def _is_new(connection: Connection, row: Row) -> bool:
    return connection.exec_driver_sql(sqlite.INSERT_READING, row).rowcount == 1


def _value(connection: Connection, row: Row) -> float:
    return float(connection.execute(_VALUE_AT, {"at": row[0], "of": row[1]}).scalar_one())


def _another_value(value: float, held: float) -> str:
    return f"there is a reading of this time already, and it is {held:g}, not {value:g}"


def _keep_refused(connection: Connection, refused: list[tuple[int, str, bytes, str]]) -> None:
    if refused:
        cut = [(at, topic, data[:KEPT_PAYLOAD_BYTES], why) for at, topic, data, why in refused]
        connection.exec_driver_sql(sqlite.INSERT_REFUSED, cut)
        connection.execute(_TRIM_REFUSED)


def _note_newest(connection: Connection, batch: Batch) -> None:
    newest: dict[int, int] = {}
    for rows in (batch.timed, batch.arrived):
        for row in rows:
            if row[0] > newest.get(row[1], -1):
                newest[row[1]] = row[0]
    if newest:
        connection.execute(_NEWER, [{"of": one, "at": at} for one, at in newest.items()])
