"""What devices said last of their battery and radio, and counts of what intake passes over."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import case, func, select
from sqlalchemy.dialects import sqlite

from steepwell.store.tables import clock, device, tally

if TYPE_CHECKING:
    from collections.abc import Mapping

    from sqlalchemy import Connection, Table
    from sqlalchemy.dialects import postgresql

    from steepwell.store.database import Database

NO_NUMBERS = "values that are no numbers"

# Time [ms since 1970], battery and signal in the device's own units.
Condition = tuple[int, float | None, float | None]


@dataclass(frozen=True, slots=True)
class Device:
    """What a device said of itself: when, its battery and its signal, in its own units.

    ``best_battery`` is the most it ever said of its battery.
    """

    told_ms: int
    battery: float | None
    signal: float | None
    best_battery: float | None = None


class Devices:
    """The newest word of each device on itself.

    Parameters
    ----------
    database
        Where it is.
    ids
        Number of each sensor in the store, by name.
    """

    def __init__(self, database: Database, ids: Mapping[str, int]) -> None:
        self._database = database
        self._names = {number: name for name, number in ids.items()}

    def all(self) -> dict[str, Device]:
        """Return what each device said last, by name of the sensor."""
        question = select(
            device.c.sensor,
            device.c.told_ms,
            device.c.battery,
            device.c.signal,
            device.c.best_battery,
        )
        with self._database.reading() as connection:
            rows = connection.execute(question).all()
        return {self._names[row[0]]: Device(*row[1:]) for row in rows if row[0] in self._names}

    def clock_offsets(self) -> dict[int, int]:
        """Return what is to be added to the times of sensors with a wrong clock, by number [ms]."""
        with self._database.reading() as connection:
            rows = connection.execute(select(clock.c.sensor, clock.c.offset_ms)).all()
        return {row.sensor: row.offset_ms for row in rows}

    def tally(self, what: str) -> int:
        """Return how often something was passed over."""
        with self._database.reading() as connection:
            found = connection.execute(select(tally.c.count).where(tally.c.what == what)).scalar()
        return found or 0


def write_clocks(connection: Connection, offsets_ms: Mapping[int, int | None]) -> None:
    """Write by how much clocks are wrong, by number of the sensor; None where one is right."""
    connection.execute(clock.delete().where(clock.c.sensor.in_(offsets_ms)))
    wrong = [
        {"sensor": number, "offset_ms": offset_ms}
        for number, offset_ms in offsets_ms.items()
        if offset_ms is not None
    ]
    if wrong:
        connection.execute(clock.insert(), wrong)


def write_conditions(connection: Connection, conditions: Mapping[int, Condition]) -> None:
    """Write what devices say of themselves, by number of the sensor, over what is older."""
    for number, (told_ms, battery, signal) in conditions.items():
        added = _insert(connection, device).values(
            sensor=number,
            told_ms=told_ms,
            battery=battery,
            signal=signal,
            best_battery=battery,
        )
        best = case(
            (device.c.best_battery >= added.excluded.battery, device.c.best_battery),
            else_=func.coalesce(added.excluded.battery, device.c.best_battery),
        )
        connection.execute(
            added.on_conflict_do_update(
                index_elements=[device.c.sensor],
                set_={
                    "told_ms": added.excluded.told_ms,
                    "battery": added.excluded.battery,
                    "signal": added.excluded.signal,
                    "best_battery": best,
                },
                where=device.c.told_ms <= added.excluded.told_ms,
            )
        )


def add_to_tally(connection: Connection, what: str, count: int) -> None:
    """Count something that was passed over."""
    added = _insert(connection, tally).values(what=what, count=count)
    connection.execute(
        added.on_conflict_do_update(
            index_elements=[tally.c.what], set_={"count": tally.c.count + added.excluded.count}
        )
    )


def _insert(connection: Connection, into: Table) -> sqlite.Insert | postgresql.Insert:
    """Return an insert that can say what to do about a row that is there already."""
    if connection.dialect.name == "sqlite":
        return sqlite.insert(into)
    from sqlalchemy.dialects import postgresql  # noqa: PLC0415 - few stores are there

    return postgresql.insert(into)
