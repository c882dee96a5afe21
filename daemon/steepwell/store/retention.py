"""What is kept of old readings: of each hour least, most, mean, the last value, and the rain."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sqlalchemy import func, select, tuple_, update

from steepwell.clock import to_ms
from steepwell.store.hours import compacted_ms
from steepwell.store.ledger import COMPACTED
from steepwell.store.rises import GOOD_FLAGS, HOUR_MS, Gauge, hourly_rise
from steepwell.store.tables import hour_fact, ledger, reading, sensor

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from sqlalchemy import Connection, Row

    from steepwell.store.database import Database


class Retention:
    """Makes hours of readings and drops the readings, an hour in a transaction.

    Of each sensor the last good reading of what was dropped stays, for a counter goes on from it;
    so does the newest reading of all.

    Parameters
    ----------
    database
        Where they are.
    ids
        Number of each sensor in the store, by name.
    gauges
        How each gauge counts, by name of the sensor.
    """

    def __init__(
        self, database: Database, ids: Mapping[str, int], gauges: Mapping[str, Gauge] | None = None
    ) -> None:
        self._database = database
        self._gauges = {ids[name]: how for name, how in (gauges or {}).items() if name in ids}

    def compact(self, until: datetime, *, most_hours: int) -> bool:
        """Keep only hours of what was read before a moment.

        Parameters
        ----------
        until
            Readings of the hour of this moment, and later ones, are left alone.
        most_hours
            How many hours to go on at most.

        Returns
        -------
        bool
            Whether it is done.
        """
        end_ms = to_ms(until) // HOUR_MS * HOUR_MS
        self._take_in_late_ones()
        return any(not self._compact_next(end_ms) for _ in range(most_hours))

    def _take_in_late_ones(self) -> None:
        """Add what came since to hours that were made before."""
        with self._database.reading() as connection:
            done_ms = compacted_ms(connection)
            late = _late_hours(connection, done_ms)
        if not late:
            return
        with self._database.transaction() as connection:
            for hour_ms in late:
                self._keep_hour(connection, hour_ms)
            _drop(connection, done_ms)

    def _compact_next(self, end_ms: int) -> bool:
        """Compact the next hour that has readings; return whether there was one."""
        with self._database.reading() as connection:
            first = select(func.min(reading.c.time_ms)).where(
                reading.c.time_ms >= compacted_ms(connection), reading.c.time_ms < end_ms
            )
            first_ms = connection.execute(first).scalar()
        if first_ms is None:
            return False
        hour_ms = first_ms // HOUR_MS * HOUR_MS
        with self._database.transaction() as connection:
            self._keep_hour(connection, hour_ms)
            _drop(connection, hour_ms + HOUR_MS)
            connection.execute(ledger.delete().where(ledger.c.job == COMPACTED))
            connection.execute(ledger.insert().values(job=COMPACTED, period_ms=hour_ms + HOUR_MS))
        return True

    def _keep_hour(self, connection: Connection, hour_ms: int) -> None:
        """Write down what the good readings of an hour come to, with what it had before."""
        held = {
            row.sensor: row
            for row in connection.execute(select(hour_fact).where(hour_fact.c.hour_ms == hour_ms))
        }
        for row in _facts(connection, hour_ms):
            fact = self._fact(connection, hour_ms, row)
            before = held.get(row.sensor)
            if before is not None:
                fact = _joined(before, fact)
                same = (hour_fact.c.hour_ms == hour_ms) & (hour_fact.c.sensor == row.sensor)
                connection.execute(hour_fact.delete().where(same))
            connection.execute(hour_fact.insert().values(fact))
            connection.execute(
                update(sensor)
                .where(sensor.c.id == row.sensor, sensor.c.first_ms.is_(None))
                .values(first_ms=row.first_ms)
            )

    def _fact(self, connection: Connection, hour_ms: int, row: Row[Any]) -> dict[str, Any]:
        last = select(reading.c.value).where(
            reading.c.time_ms == row.last_ms, reading.c.sensor == row.sensor
        )
        gauge = self._gauges.get(row.sensor)
        rise: float | None = None
        if gauge is not None:
            hours = hourly_rise(connection, row.sensor, gauge, hour_ms, hour_ms + HOUR_MS)
            rise = sum(mm for _, mm in hours)
        return {
            "hour_ms": hour_ms,
            "sensor": row.sensor,
            "count": row.count,
            "least": row.least,
            "most": row.most,
            "mean": row.mean,
            "last_ms": row.last_ms,
            "last": connection.execute(last).scalar_one(),
            "rise": rise,
        }


def _facts(connection: Connection, hour_ms: int) -> list[Row[Any]]:
    """Return what the good readings of an hour come to, but for those that were counted in it."""
    value = reading.c.value
    counted = (hour_fact.c.sensor == reading.c.sensor) & (hour_fact.c.last_ms == reading.c.time_ms)
    question = (
        select(
            reading.c.sensor,
            func.count().label("count"),
            func.min(value).label("least"),
            func.max(value).label("most"),
            func.avg(value).label("mean"),
            func.min(reading.c.time_ms).label("first_ms"),
            func.max(reading.c.time_ms).label("last_ms"),
        )
        .where(
            reading.c.time_ms >= hour_ms,
            reading.c.time_ms < hour_ms + HOUR_MS,
            reading.c.flag.in_(GOOD_FLAGS),
            ~select(hour_fact.c.sensor)
            .where(hour_fact.c.hour_ms == hour_ms, counted)
            .correlate(reading)
            .exists(),
        )
        .group_by(reading.c.sensor)
    )
    return list(connection.execute(question).all())


def _joined(held: Row[Any], late: dict[str, Any]) -> dict[str, Any]:
    """Return an hour with what came late; a counter's rain is in it already."""
    count = held.count + late["count"]
    later = late if late["last_ms"] > held.last_ms else held._mapping  # noqa: SLF001 - its public name
    return {
        **late,
        "count": count,
        "least": min(held.least, late["least"]),
        "most": max(held.most, late["most"]),
        "mean": (held.mean * held.count + late["mean"] * late["count"]) / count,
        "last_ms": later["last_ms"],
        "last": later["last"],
        "rise": held.rise,
    }


def _staying(connection: Connection, end_ms: int) -> list[tuple[int, int]]:
    """Return time and sensor of the readings before a time that stay."""
    last = (
        select(func.max(reading.c.time_ms), reading.c.sensor)
        .where(reading.c.time_ms < end_ms, reading.c.flag.in_(GOOD_FLAGS))
        .group_by(reading.c.sensor)
    )
    newest = select(sensor.c.newest_ms, sensor.c.id).where(sensor.c.newest_ms < end_ms)
    return [(row[0], row[1]) for rows in (last, newest) for row in connection.execute(rows)]


def _drop(connection: Connection, end_ms: int) -> None:
    staying = _staying(connection, end_ms)
    gone = reading.delete().where(reading.c.time_ms < end_ms)
    if staying:
        gone = gone.where(tuple_(reading.c.time_ms, reading.c.sensor).not_in(staying))
    connection.execute(gone)


def _late_hours(connection: Connection, end_ms: int) -> list[int]:
    """Return the beginnings of hours, made before, for which something has come since."""
    staying = set(_staying(connection, end_ms))
    same = (hour_fact.c.sensor == reading.c.sensor) & (hour_fact.c.last_ms == reading.c.time_ms)
    question = (
        select(reading.c.time_ms, reading.c.sensor, reading.c.flag, hour_fact.c.last_ms)
        .outerjoin(hour_fact, same)
        .where(reading.c.time_ms < end_ms)
    )
    late = set()
    for time_ms, number, flag, counted in connection.execute(question):
        is_kept_as_it_is = flag not in GOOD_FLAGS and (time_ms, number) in staying
        if counted is None and not is_kept_as_it_is:
            late.add(time_ms // HOUR_MS * HOUR_MS)
    return sorted(late)
