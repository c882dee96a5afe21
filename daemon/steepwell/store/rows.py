"""Readings as rows, and what a database does with many of them at once."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from sqlalchemy import Connection

# Time [ms since 1970], number of the sensor, value in base units, flag, reason for the flag.
Row = tuple[int, int, float, int, str | None]
# Flag and reason of a reading, its time and sensor.
Verdict = tuple[int, str | None, int, int]


class Bulk(Protocol):
    """How a database takes in many rows; each is written for SQLite and for PostgreSQL."""

    def insert_readings(self, connection: Connection, rows: Sequence[Row]) -> int:
        """Insert the rows whose sensor and time are free, and return how many that were."""

    def insert_all_or_none(self, connection: Connection, rows: Sequence[Row]) -> bool:
        """Insert rows if all their places are free; return whether that is so."""

    def remember_seen(self, connection: Connection, rows: Sequence[tuple[int, bytes, int]]) -> None:
        """Write packet identifiers, each with its digest and number, over what was there."""

    def note_newest(self, connection: Connection, newest_ms: Mapping[int, int]) -> None:
        """Move the newest reading of sensors on to a time [ms since 1970], never back."""

    def note_unsent(self, connection: Connection, spans: Mapping[int, tuple[int, int]]) -> None:
        """Note the first and last time [ms since 1970] of what changed, for the mirror."""

    def judge_readings(self, connection: Connection, rows: Sequence[Verdict]) -> None:
        """Write flag and reason of readings that wait for it."""


def bulk(connection: Connection) -> Bulk:
    """Return how the database of a connection takes in many rows."""
    from steepwell.store import postgres, sqlite  # noqa: PLC0415 - both know what a row is

    return sqlite if connection.dialect.name == "sqlite" else postgres


def time_spans(stamps: Iterable[tuple[int, int]]) -> dict[int, tuple[int, int]]:
    """Return the first and last of some times, by sensor; each comes with its sensor."""
    spans: dict[int, tuple[int, int]] = {}
    for time_ms, number in stamps:
        first_ms, last_ms = spans.get(number, (time_ms, time_ms))
        if time_ms > last_ms:
            spans[number] = first_ms, time_ms
        elif time_ms < first_ms or number not in spans:
            spans[number] = time_ms, last_ms
    return spans
