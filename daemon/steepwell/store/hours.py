"""Hours of readings that are no longer kept one by one, and the questions asked about them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sqlalchemy import bindparam, func, select

from steepwell.clock import to_ms
from steepwell.store.ledger import COMPACTED
from steepwell.store.rises import HOUR_MS
from steepwell.store.tables import hour_fact, ledger

if TYPE_CHECKING:
    from collections.abc import Collection
    from datetime import datetime

    from sqlalchemy import Connection

DAY_MS = 24 * HOUR_MS
_LAST_AT = (
    select(hour_fact.c.last_ms, hour_fact.c.last)
    .where(
        hour_fact.c.sensor == bindparam("of"),
        hour_fact.c.hour_ms <= bindparam("until"),
        hour_fact.c.last_ms <= bindparam("until"),
    )
    .order_by(hour_fact.c.hour_ms.desc())
    .limit(1)
)
_COMPACTED_MS = select(ledger.c.period_ms).where(ledger.c.job == COMPACTED)
_BETWEEN = (
    hour_fact.c.sensor.in_(bindparam("sensors", expanding=True)),
    hour_fact.c.hour_ms >= bindparam("start"),
    hour_fact.c.hour_ms < bindparam("end"),
)
_FACTS = select(
    hour_fact.c.sensor,
    hour_fact.c.hour_ms,
    hour_fact.c.least,
    hour_fact.c.most,
    hour_fact.c.mean,
).where(*_BETWEEN)
_DAY = (hour_fact.c.hour_ms // DAY_MS).label("day")
_MOST = (
    select(hour_fact.c.sensor, _DAY, func.max(hour_fact.c.most))
    .where(*_BETWEEN)
    .group_by(hour_fact.c.sensor, _DAY)
)
_RISES = (
    select(hour_fact.c.hour_ms, hour_fact.c.rise)
    .where(*_BETWEEN, hour_fact.c.rise.is_not(None))
    .order_by(hour_fact.c.hour_ms)
)


def compacted_ms(connection: Connection) -> int:
    """Return the time before which only hours are kept [ms since 1970], 0 while all is kept."""
    return connection.execute(_COMPACTED_MS).scalar() or 0


def last_good_at(connection: Connection, number: int, until_ms: int) -> tuple[int, float] | None:
    """Return time [ms since 1970] and value of the last good reading of an hour, by then.

    Parameters
    ----------
    connection
        To the store.
    number
        Number of the sensor.
    until_ms
        The last moment [ms since 1970].

    Returns
    -------
    tuple or None
        Of an hour that ended later, what came before it.
    """
    found = connection.execute(_LAST_AT, {"of": number, "until": until_ms}).first()
    return None if found is None else (found.last_ms, found.last)


def facts_between(
    connection: Connection, sensors: Collection[int], start: datetime, end_ms: int
) -> list[tuple[int, int, float, float, float]]:
    """Return sensor, number of the hour since 1970, least, most and mean of some hours.

    Parameters
    ----------
    connection
        To the store.
    sensors
        Their numbers.
    start
        From the hour of this moment on.
    end_ms
        Up to here [ms since 1970].
    """
    rows = connection.execute(_FACTS, _between(sensors, to_ms(start), end_ms))
    return [(row[0], row[1] // HOUR_MS, *row[2:]) for row in rows]


def most_between(
    connection: Connection, sensors: Collection[int], start: datetime, end_ms: int
) -> dict[tuple[int, int], float]:
    """Return the greatest good reading by sensor and number of the day since 1970."""
    rows = connection.execute(_MOST, _between(sensors, to_ms(start), end_ms))
    return {(row[0], row[1]): row[2] for row in rows}


def rises_between(
    connection: Connection, number: int, start_ms: int, end_ms: int
) -> list[tuple[int, float]]:
    """Return by how much a gauge rose in each of some hours [ms since 1970, mm]."""
    rows = connection.execute(_RISES, _between([number], start_ms, end_ms))
    return [(row[0], row[1]) for row in rows]


def _between(sensors: Collection[int], start_ms: int, end_ms: int) -> dict[str, Any]:
    return {
        "sensors": list(sensors),
        "start": start_ms // HOUR_MS * HOUR_MS,
        "end": end_ms,
    }
