"""What good readings come to by the hour and by the day, summed up in the database."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sqlalchemy import bindparam, func, select

from steepwell.store.rises import GOOD_FLAGS, HOUR_MS
from steepwell.store.tables import reading

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from sqlalchemy import Connection, Row

DAY_MS = 24 * HOUR_MS

_GOOD = (
    reading.c.time_ms >= bindparam("start"),
    reading.c.time_ms < bindparam("end"),
    reading.c.sensor.in_(bindparam("sensors", expanding=True)),
    reading.c.flag.in_(GOOD_FLAGS),
)
_HOUR = (reading.c.time_ms // HOUR_MS).label("hour")
_DAY = (reading.c.time_ms // DAY_MS).label("day")
_LEAST, _MOST, _MEAN = (each(reading.c.value) for each in (func.min, func.max, func.avg))
_HOURLY = (
    select(reading.c.sensor, _HOUR, _LEAST, _MOST, _MEAN)
    .where(*_GOOD)
    .group_by(reading.c.sensor, _HOUR)
)
_DAILY_MOST = select(reading.c.sensor, _DAY, _MOST).where(*_GOOD).group_by(reading.c.sensor, _DAY)


def raw_hourly(
    connection: Connection, sensors: Collection[int], start_ms: int, end_ms: int
) -> Sequence[Row[*tuple[Any, ...]]]:
    """Return sensor, number of the hour since 1970, least, most and mean of some hours.

    Parameters
    ----------
    connection
        To the store.
    sensors
        Their numbers.
    start_ms, end_ms
        ``start_ms`` <= time < ``end_ms`` [ms since 1970].
    """
    return connection.execute(_HOURLY, _asked(sensors, start_ms, end_ms)).all()


def raw_daily_most(
    connection: Connection, sensors: Collection[int], start_ms: int, end_ms: int
) -> Sequence[Row[*tuple[Any, ...]]]:
    """Return sensor, number of the day since 1970, and the greatest reading; as ``raw_hourly``."""
    return connection.execute(_DAILY_MOST, _asked(sensors, start_ms, end_ms)).all()


def _asked(sensors: Collection[int], start_ms: int, end_ms: int) -> dict[str, Any]:
    return {"sensors": list(sensors), "start": start_ms, "end": end_ms}
