"""Readings that wait to be judged among their neighbours, and what they were found to be."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from sqlalchemy import bindparam, case, func, select

from steepwell.store.rows import bulk
from steepwell.store.tables import reading, sensor

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping, Sequence

    from steepwell.store.database import Database

NOT_EVALUATED = 2
DOUBTED, FAILED = 3, 4

_OF_THEM = (
    reading.c.time_ms.between(bindparam("start"), bindparam("end")),
    reading.c.sensor.in_(bindparam("sensors", expanding=True)),
)
_WAITING = (
    select(reading.c.sensor, func.min(reading.c.time_ms))
    .join(sensor, sensor.c.id == reading.c.sensor)
    .where(
        *_OF_THEM,
        reading.c.flag == NOT_EVALUATED,
        reading.c.reason.is_(None),
        reading.c.time_ms < sensor.c.newest_ms,
    )
    .group_by(reading.c.sensor)
)
_SERIES = (
    select(reading.c.sensor, reading.c.time_ms, reading.c.value, reading.c.flag, reading.c.reason)
    .where(*_OF_THEM, reading.c.flag < FAILED)
    .order_by(reading.c.time_ms)
)


class Point(NamedTuple):
    """One reading of a sensor: time [ms since 1970], value in base units, flag and reason."""

    time_ms: int
    value: float
    flag: int
    reason: str | None

    @property
    def waits(self) -> bool:
        """Whether nothing was said of it yet."""
        return self.flag == NOT_EVALUATED and self.reason is None


class Judged:
    """Takes readings out to be judged, and writes down what was found.

    Parameters
    ----------
    database
        Where they are.
    ids
        Number of each sensor in the store, by name.
    """

    def __init__(self, database: Database, ids: Mapping[str, int]) -> None:
        self._database = database
        self._ids = ids
        self._names = {number: name for name, number in ids.items()}

    def waiting(self, start_ms: int, end_ms: int) -> dict[str, int]:
        """Return the sensors with readings that wait and have a successor.

        Parameters
        ----------
        start_ms, end_ms
            Where to look, both included [ms since 1970].

        Returns
        -------
        dict
            Time of the first such reading of each [ms since 1970].
        """
        asked = {"start": start_ms, "end": end_ms, "sensors": list(self._names)}
        with self._database.reading() as connection:
            rows = connection.execute(_WAITING, asked).all()
        return {self._names[number]: first_ms for number, first_ms in rows}

    def series(
        self, sensors: Collection[str], start_ms: int, end_ms: int
    ) -> dict[str, list[Point]]:
        """Return the readings of some sensors that did not fail, in the order of time.

        Parameters
        ----------
        sensors
            Their names.
        start_ms, end_ms
            From when to when, both included [ms since 1970].

        Returns
        -------
        dict
            By name of the sensor, each of those asked for.
        """
        found: dict[str, list[Point]] = {name: [] for name in sensors}
        numbers = [self._ids[name] for name in sensors]
        asked = {"start": start_ms, "end": end_ms, "sensors": numbers}
        with self._database.reading() as connection:
            for number, *point in connection.execute(_SERIES, asked):
                found[self._names[number]].append(Point(*point))
        return found

    def doubted(self, start_ms: int, end_ms: int) -> dict[str, tuple[int, int, str]]:
        """Return how many readings each sensor gave, and how many of them are doubted or failed.

        Parameters
        ----------
        start_ms, end_ms
            From when to when, both included [ms since 1970].

        Returns
        -------
        dict
            All, doubted, and the latest reason, by name of those sensors with a doubted one.
        """
        bad = case((reading.c.flag >= DOUBTED, reading.c.time_ms), else_=None)
        counts = (
            select(
                reading.c.sensor,
                func.count().label("all"),
                func.count(bad).label("bad"),
                func.max(bad).label("last_ms"),
            )
            .where(reading.c.time_ms.between(start_ms, end_ms), reading.c.sensor.in_(self._names))
            .group_by(reading.c.sensor)
            .subquery()
        )
        question = select(counts.c.sensor, counts.c.all, counts.c.bad, reading.c.reason).join(
            reading,
            (reading.c.sensor == counts.c.sensor) & (reading.c.time_ms == counts.c.last_ms),
        )
        with self._database.reading() as connection:
            rows = connection.execute(question).all()
        return {self._names[row[0]]: (row[1], row[2], row[3] or "") for row in rows}

    def write(self, found: Mapping[str, Sequence[Point]]) -> None:
        """Write flags and reasons of readings, by name of the sensor, of those that still wait."""
        rows = [
            (point.flag, point.reason, point.time_ms, self._ids[name])
            for name, points in found.items()
            for point in points
        ]
        with self._database.transaction() as connection:
            bulk(connection).judge_readings(connection, rows)
