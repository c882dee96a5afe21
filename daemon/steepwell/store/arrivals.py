"""What one batch of messages leaves in the store, and how it is written."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple

from sqlalchemy import bindparam, func, select

from steepwell.store import tables
from steepwell.store.devices import NO_NUMBERS, add_to_tally, write_clocks, write_conditions
from steepwell.store.rows import bulk, time_spans

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from steepwell.store.devices import Condition
    from steepwell.store.rows import Row

KEPT_REFUSED = 10_000
KEPT_PAYLOAD_BYTES = 256

_VALUE_AT = select(tables.reading.c.value).where(
    tables.reading.c.time_ms == bindparam("at"), tables.reading.c.sensor == bindparam("of")
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
    conditions
        What devices said of themselves, by number of the sensor.
    clocks_ms
        What is from now on added to the times of sensors, None for nothing, by their number.
    no_numbers
        How many values that are no numbers were passed over.
    """

    timed: list[Row] = field(default_factory=list)
    origins: list[tuple[int, str, bytes]] = field(default_factory=list)
    arrived: list[Row] = field(default_factory=list)
    seen: list[tuple[int, bytes, int]] = field(default_factory=list)
    forget_seen: bool = False
    refused: list[tuple[int, str, bytes, str]] = field(default_factory=list)
    conditions: dict[int, Condition] = field(default_factory=dict)
    clocks_ms: dict[int, int | None] = field(default_factory=dict)
    no_numbers: int = 0


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
    refused = list(batch.refused)
    stored = bulk(connection).insert_readings(connection, batch.timed) if batch.timed else 0
    unplaced = len(batch.timed) - stored
    if unplaced:
        refused += _conflicts(connection, batch)
    arrived = _place(connection, batch.arrived) if batch.arrived else []
    if batch.forget_seen:
        connection.execute(tables.seen_message.delete())
    if batch.seen:
        bulk(connection).remember_seen(connection, batch.seen)
    if refused:
        _keep_refused(connection, refused)
    if batch.conditions:
        write_conditions(connection, batch.conditions)
    if batch.clocks_ms:
        write_clocks(connection, batch.clocks_ms)
    if batch.no_numbers:
        add_to_tally(connection, NO_NUMBERS, batch.no_numbers)
    if batch.timed or arrived:
        _note_times(connection, batch.timed, arrived)
    conflicts = len(refused) - len(batch.refused)
    return Written(stored + len(batch.arrived), unplaced - conflicts, len(refused))


def _conflicts(connection: Connection, batch: Batch) -> list[tuple[int, str, bytes, str]]:
    """Return what came with the sensor and time of another reading, and with another value."""
    conflicts = []
    for row, origin in zip(batch.timed, batch.origins, strict=True):
        held = _value(connection, row)
        if held != row[2]:
            why = f"there is a reading of this time already, and it is {held:g}, not {row[2]:g}"
            conflicts.append((*origin, why))
    return conflicts


def _place(connection: Connection, rows: list[Row]) -> list[Row]:
    """Insert readings timed by their arrival, each at the next free millisecond."""
    if bulk(connection).insert_all_or_none(connection, rows):
        return rows
    placed = []
    for row in rows:
        free = row
        while not bulk(connection).insert_readings(connection, [free]):
            free = (free[0] + 1, *free[1:])
        placed.append(free)
    return placed


def _value(connection: Connection, row: Row) -> float:
    return float(connection.execute(_VALUE_AT, {"at": row[0], "of": row[1]}).scalar_one())


def _keep_refused(connection: Connection, refused: list[tuple[int, str, bytes, str]]) -> None:
    rows = [
        {
            "time_ms": at,
            "topic": _storable(topic),
            "payload": data[:KEPT_PAYLOAD_BYTES],
            "reason": _storable(why),
        }
        for at, topic, data, why in refused
    ]
    connection.execute(tables.refused.insert(), rows)
    connection.execute(_TRIM_REFUSED)


def _storable(text: str) -> str:
    """Return text without halves of characters, which no database takes, and without zeros."""
    return text.encode(errors="replace").decode().replace("\0", "\N{REPLACEMENT CHARACTER}")


def _note_times(connection: Connection, *lots: list[Row]) -> None:
    spans = time_spans((row[0], row[1]) for rows in lots for row in rows)
    bulk(connection).note_newest(
        connection, {number: last_ms for number, (_, last_ms) in spans.items()}
    )
    bulk(connection).note_unsent(connection, spans)
