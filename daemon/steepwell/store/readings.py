"""Readings: writing a batch of them, and the questions asked about them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from sqlalchemy import Select, bindparam, select

from steepwell.clock import from_ms, to_ms
from steepwell.store import hours
from steepwell.store.arrivals import Batch, Written, write_batch
from steepwell.store.newest import newest_of_each
from steepwell.store.raw_sums import raw_daily_most, raw_hourly
from steepwell.store.rises import GOOD_FLAGS, HOUR_MS, Gauge, hourly_rise
from steepwell.store.tables import reading, sensor

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime

    from sqlalchemy import Connection

    from steepwell.store.database import Database
    from steepwell.store.rows import Row

__all__ = ["DAY_MS", "GOOD_FLAGS", "HOUR_MS", "USABLE_FLAGS", "HourFact", "Reading", "Readings"]

SUSPECT = 3
USABLE_FLAGS = (*GOOD_FLAGS, SUSPECT)
WAITS = 2
CLOCK_SET = "our clock was set after it came"
CLOCK_AHEAD = "our clock was ahead: time of arrival"
DAY_MS = 24 * HOUR_MS

_COLUMNS = (reading.c.time_ms, reading.c.value, reading.c.flag, reading.c.reason)
_NEWEST = (
    select(*_COLUMNS)
    .where(reading.c.sensor == bindparam("of"), reading.c.time_ms <= bindparam("until"))
    .order_by(reading.c.time_ms.desc())
    .limit(1)
)
_HEARD = select(sensor.c.id, sensor.c.newest_ms).where(sensor.c.newest_ms.is_not(None))
_NEWEST_GOOD = _NEWEST.where(reading.c.flag.in_(GOOD_FLAGS))


@dataclass(frozen=True, slots=True)
class Reading:
    """One measured value: rain in mm since the gauge started, level in L, temperature in °C."""

    sensor: str
    time_ms: int
    value: float
    flag: int
    reason: str | None


class HourFact(NamedTuple):
    """What the good readings of one sensor within one hour come to, in base units."""

    sensor: str
    hour_ms: int
    least: float
    most: float
    mean: float


class Readings:
    """The readings of one garden.

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
        self._gauges = gauges or {}
        self.ids = ids
        self._numbers = frozenset(ids.values())

    def write(self, batch: Batch) -> Written:
        """Write a batch in one transaction."""
        with self._database.transaction() as connection:
            return write_batch(connection, batch)

    def latest(self, now: datetime) -> dict[str, Reading]:
        """Return the newest reading of each sensor at or before ``now``, whatever its flag.

        Parameters
        ----------
        now
            Aware datetime.

        Returns
        -------
        dict
            By name of the sensor; sensors never heard are not in it.
        """
        newest_ms = self.newest_times()
        with self._database.reading() as connection:
            found = [
                self._newest(connection, _NEWEST, name, min(to_ms(now), newest_ms[number]))
                for name, number in self.ids.items()
                if number in newest_ms
            ]
        return {newest.sensor: newest for newest in found if newest is not None}

    def last_good(self, name: str, now: datetime) -> Reading | None:
        """Return the newest reading of a sensor with flag 1 or 2, or None.

        Parameters
        ----------
        name
            Name of the sensor.
        now
            Aware datetime; later readings are not seen.
        """
        newest_ms = self.newest_times().get(self.ids.get(name, 0))
        if newest_ms is None:
            return None
        with self._database.reading() as connection:
            return self._newest(connection, _NEWEST_GOOD, name, min(to_ms(now), newest_ms))

    def first_good(self, name: str, now: datetime) -> datetime | None:
        """Return when a sensor first gave a reading with flag 1 or 2, or None.

        Parameters
        ----------
        name
            Name of the sensor.
        now
            Aware datetime; later readings are not seen.
        """
        question = (
            select(reading.c.time_ms)
            .where(
                reading.c.sensor == self.ids.get(name, 0),
                reading.c.flag.in_(GOOD_FLAGS),
                reading.c.time_ms <= to_ms(now),
            )
            .order_by(reading.c.time_ms)
            .limit(1)
        )
        before = select(sensor.c.first_ms).where(sensor.c.id == self.ids.get(name, 0))
        with self._database.reading() as connection:
            moments = [connection.execute(before).scalar(), connection.execute(question).scalar()]
        first_ms = min((ms for ms in moments if ms is not None), default=None)
        return None if first_ms is None or first_ms > to_ms(now) else from_ms(first_ms)

    def last_good_at(self, name: str, moments: Sequence[datetime]) -> list[Reading | None]:
        """Return the newest reading of one sensor at or before each of some moments.

        Parameters
        ----------
        name
            Name of the sensor.
        moments
            Aware datetimes.

        Returns
        -------
        list of Reading or None
            As ``last_good_of_each``.
        """
        return self.last_good_of_each([(name, moment) for moment in moments])

    def last_good_of_each(
        self, asked: Sequence[tuple[str, datetime]], *, or_doubted: bool = False
    ) -> list[Reading | None]:
        """Return the newest readings with flag 1 or 2 at or before some moments.

        Parameters
        ----------
        asked
            Names of sensors, each with an aware datetime.
        or_doubted
            Whether readings with flag 3 will do.

        Returns
        -------
        list of Reading or None
            One for each that was asked, None before a sensor's first reading.
        """
        newest_ms = self.newest_times()
        numbers = [self.ids.get(name, 0) for name, _ in asked]
        keys = [
            (number, min(to_ms(moment), newest_ms.get(number, 0)))
            for number, (_, moment) in zip(numbers, asked, strict=True)
        ]
        with self._database.reading() as connection:
            flags = USABLE_FLAGS if or_doubted else GOOD_FLAGS
            names = {number: name for name, number in self.ids.items()}
            found: dict[tuple[int, int], Reading | None] = {
                key: Reading(names[key[0]], *row)
                for key, row in newest_of_each(connection, keys, flags).items()
            }
            done_ms = hours.compacted_ms(connection)
            for key in {key for key in keys if key[1] < done_ms and key[0] in names}:
                name = names[key[0]]
                found[key] = self._or_of_hour(connection, found.get(key), name, key[1])
        return [found.get(key) for key in keys]

    def newest_times(self) -> dict[int, int]:
        """Return the time of the newest reading [ms since 1970], by number of the sensor."""
        with self._database.reading() as connection:
            heard = connection.execute(_HEARD).all()
        return {number: newest_ms for number, newest_ms in heard if number in self._numbers}

    def last_heard(self, now: datetime) -> dict[str, datetime]:
        """Return when each sensor was last heard at or before ``now``.

        Parameters
        ----------
        now
            Aware datetime.

        Returns
        -------
        dict
            By name of the sensor; sensors never heard are not in it.
        """
        newest = self.newest_times()
        heard = {name: newest[number] for name, number in self.ids.items() if number in newest}
        if any(time_ms > to_ms(now) for time_ms in heard.values()):
            return {name: from_ms(found.time_ms) for name, found in self.latest(now).items()}
        return {name: from_ms(time_ms) for name, time_ms in heard.items()}

    def newest_passed(self) -> int:
        """Return the time of the newest reading with flag 1 [ms since 1970], 0 before the first."""
        question = (
            select(reading.c.time_ms)
            .where(reading.c.flag == GOOD_FLAGS[0])
            .order_by(reading.c.time_ms.desc())
            .limit(1)
        )
        with self._database.reading() as connection:
            return connection.execute(question).scalar() or 0

    def move(self, readings: Sequence[tuple[int, int, int]]) -> None:
        """Give readings the time they came at, now that the clock is set.

        Parameters
        ----------
        readings
            Number of the sensor, the time under which it is stored, and the one it came at
            [ms since 1970].
        """
        moved: list[Row] = []
        with self._database.transaction() as connection:
            for number, stored_ms, at_ms in readings:
                here = (reading.c.time_ms == stored_ms) & (reading.c.sensor == number)
                taken = connection.execute(reading.delete().where(here).returning(reading.c.value))
                moved += [(at_ms, number, value, WAITS, CLOCK_SET) for value in taken.scalars()]
            write_batch(connection, Batch(arrived=moved))

    def doubt_after(self, moment: datetime) -> None:
        """Flag as suspect what was read at a time that has not come yet."""
        doubted = reading.update().where(
            reading.c.time_ms > to_ms(moment), reading.c.flag < SUSPECT
        )
        with self._database.transaction() as connection:
            connection.execute(doubted.values(flag=SUSPECT, reason=CLOCK_AHEAD))

    def _newest(
        self,
        connection: Connection,
        question: Select[tuple[int, float, int, str]],
        name: str,
        until_ms: int,
    ) -> Reading | None:
        """Search backwards from a time; from a sensor's newest reading on, that is no search."""
        found = connection.execute(question, {"of": self.ids[name], "until": until_ms}).first()
        kept = None
        if found is not None:
            kept = Reading(name, found.time_ms, found.value, found.flag, found.reason)
        if until_ms < hours.compacted_ms(connection):
            return self._or_of_hour(connection, kept, name, until_ms)
        return kept

    def _or_of_hour(
        self, connection: Connection, kept: Reading | None, name: str, until_ms: int
    ) -> Reading | None:
        """Return a reading that was kept, or what is newer of an hour whose readings were not."""
        found = hours.last_good_at(connection, self.ids[name], until_ms)
        if found is None or (kept is not None and kept.time_ms >= found[0]):
            return kept
        return Reading(name, *found, GOOD_FLAGS[0], None)

    def hourly(self, sensors: Sequence[str], start: datetime, end: datetime) -> list[HourFact]:
        """Return what each hour of some sensors comes to, good readings only.

        Parameters
        ----------
        sensors
            Their names.
        start, end
            Aware datetimes: ``start`` <= time < ``end``.

        Returns
        -------
        list of HourFact
            Ordered by sensor name and hour; hours without a good reading are not in it.
        """
        names = {self.ids[name]: name for name in sensors if name in self.ids}
        with self._database.reading() as connection:
            done_ms = hours.compacted_ms(connection)
            whole = hours.facts_between(connection, names, start, min(to_ms(end), done_ms))
            rows = raw_hourly(connection, names, max(to_ms(start), done_ms), to_ms(end))
        return sorted(
            HourFact(names[number], hour * HOUR_MS, least, most, mean)
            for number, hour, least, most, mean in (*whole, *rows)
        )

    def daily_most(
        self, sensors: Sequence[str], start: datetime, end: datetime
    ) -> list[tuple[str, int, float]]:
        """Return the greatest good reading of some sensors on each day (UTC).

        Parameters
        ----------
        sensors
            Their names.
        start, end
            Aware datetimes: ``start`` <= time < ``end``.

        Returns
        -------
        list of tuple
            Sensor, noon of the day [ms since 1970] and value [unit of the sensor]; days without
            a good reading are not in it.
        """
        names = {self.ids[name]: name for name in sensors if name in self.ids}
        with self._database.reading() as connection:
            done_ms = hours.compacted_ms(connection)
            found = hours.most_between(connection, names, start, min(to_ms(end), done_ms))
            rows = raw_daily_most(connection, names, max(to_ms(start), done_ms), to_ms(end))
            for number, on, most in rows:
                found[number, on] = max(most, found.get((number, on), most))
        return [
            (names[number], on * DAY_MS + DAY_MS // 2, most) for (number, on), most in found.items()
        ]

    def hourly_rise(self, name: str, start: datetime, end: datetime) -> list[tuple[int, float]]:
        """Return by how much a counter rose in each hour, good readings only.

        What it rose between two readings belongs to the hour of the later one; see ``rises``.

        Parameters
        ----------
        name
            Name of the sensor.
        start, end
            Aware datetimes: ``start`` <= time < ``end``.

        Returns
        -------
        list of tuple
            Start of the hour [ms since 1970] and rise [unit of the sensor], ordered by hour;
            hours without a reading are not in it.
        """
        if name not in self.ids:
            return []
        number, start_ms, end_ms = self.ids[name], to_ms(start), to_ms(end)
        with self._database.reading() as connection:
            done_ms = hours.compacted_ms(connection)
            whole = hours.rises_between(connection, number, start_ms, min(end_ms, done_ms))
            gauge = self._gauges.get(name, Gauge())
            return whole + hourly_rise(connection, number, gauge, max(start_ms, done_ms), end_ms)
