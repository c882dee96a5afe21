"""The store: everything the program remembers, in one file."""

from __future__ import annotations

from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Self

from sqlalchemy import make_url, select
from sqlalchemy.exc import DatabaseError

from steepwell.errors import SecretError, StoreError
from steepwell.garden.secrets import read_secret
from steepwell.garden.sensors import RainSensor
from steepwell.store import tables
from steepwell.store.database import Database
from steepwell.store.decisions import Decisions
from steepwell.store.devices import Devices
from steepwell.store.invitations import Invitations
from steepwell.store.journal import Journal
from steepwell.store.judged import Judged
from steepwell.store.ledger import Ledger
from steepwell.store.migrate import bring_up_to_date, require_up_to_date
from steepwell.store.mirror import Mirrored
from steepwell.store.notices import Notices
from steepwell.store.outbox import Outbox
from steepwell.store.postgres import is_postgres, postgres_engine
from steepwell.store.raw import Raw
from steepwell.store.readings import Readings
from steepwell.store.refused import RefusedMessages
from steepwell.store.renames import Renames
from steepwell.store.results import Results
from steepwell.store.retention import Retention
from steepwell.store.rises import Gauge
from steepwell.store.secrets import Secrets
from steepwell.store.seen import SeenMessages
from steepwell.store.size import Size, size_of
from steepwell.store.sqlite import sqlite_engine, store_file

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime
    from types import TracebackType

    from sqlalchemy import Connection, Engine

    from steepwell.garden.garden import Garden


class Store:
    """Readings, journal, ledger, results, notices, outbox, refused messages, mirror of one garden.

    Parameters
    ----------
    database
        Where they are.
    sensors
        Number of each sensor in the store, by name.
    gauges
        How each gauge counts, by name of the sensor.
    renames
        What was called otherwise before.
    """

    def __init__(
        self,
        database: Database,
        sensors: dict[str, int],
        gauges: dict[str, Gauge],
        renames: Renames,
    ) -> None:
        self._database = database
        self.readings = Readings(database, sensors, gauges)
        self.devices = Devices(database, sensors)
        self.judged = Judged(database, sensors)
        self.seen = SeenMessages(database)
        self.refused = RefusedMessages(database)
        self.journal = Journal(database, renames)
        self.ledger = Ledger(database)
        self.results = Results(database, renames)
        self.notices = Notices(database)
        self.decisions = Decisions(database)
        self.outbox = Outbox(database)
        self.mirror = Mirrored(database, sensors)
        self.retention = Retention(database, sensors, gauges)
        self.invitations = Invitations(database)
        self.secrets = Secrets(database)
        self.raw = Raw(database, sensors)

    @contextmanager
    def transaction(self) -> Iterator[None]:
        """Make everything this thread writes inside the block one transaction."""
        with self._database.transaction():
            yield

    @contextmanager
    def moment(self) -> Iterator[None]:
        """Let everything this thread reads inside the block be of one moment."""
        with self._database.moment():
            yield

    @property
    def is_damaged(self) -> bool:
        """Whether something in it was found that no sound store holds."""
        return self._database.is_damaged

    def size(self, file: Path | None, now: datetime) -> Size:
        """Return how large it is, a file or a database, and how it will grow."""
        return size_of(self._database, file, now)

    def close(self) -> None:
        """Close the store."""
        self._database.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        traceback: TracebackType | None,
    ) -> None:
        self.close()


def garden_store_url(garden: Garden) -> str:
    """Return the address of a garden's store; a relative file begins at the garden file's folder.

    Raises
    ------
    StoreError
        If the garden file names neither an SQLite file nor a PostgreSQL database.
    """
    if is_postgres(garden.store.url):
        return garden.store.url
    return f"sqlite:///{garden.path(store_file(garden.store.url)).resolve()}"


def open_store(url: str, garden: Garden, *, read_only: bool = False) -> Store:
    """Open a store, and create or migrate it first unless it is only read.

    Parameters
    ----------
    url
        Its address, from ``garden_store_url``.
    garden
        Whose sensors it keeps.
    read_only
        Refuse to write.

    Returns
    -------
    Store
        To be closed when done with.

    Raises
    ------
    StoreError
        If it cannot be opened, was written by a newer version, or is missing and only read.
    """
    place = _place(url)
    if read_only and isinstance(place, Path) and not place.is_file():
        raise StoreError(f"there is no store {place} yet; start the daemon, or note something")
    engine = store_engine(url, garden, read_only=read_only)
    try:
        if read_only:
            require_up_to_date(engine, place)
        else:
            bring_up_to_date(engine, place)
        database = Database(engine)
        with database.reading() if read_only else database.transaction() as connection:
            sensors = _sensor_numbers(connection, garden, add=not read_only)
    except DatabaseError as error:
        engine.dispose()
        raise StoreError(
            f"the store {place} cannot be opened ({error.orig}); {_advice(place)}"
        ) from error
    except StoreError:
        engine.dispose()
        raise
    return Store(database, sensors, _gauges(garden), Renames(garden))


def store_engine(url: str, garden: Garden, *, read_only: bool) -> Engine:
    """Return how to connect to a store, which need not be up to date.

    Raises
    ------
    StoreError
        If its driver, or the file with its password, is not there.
    """
    if not is_postgres(url):
        return sqlite_engine(store_file(url), read_only=read_only)
    file = garden.store.password_file
    password = None
    if file is not None:
        try:
            password = read_secret("the password of the store", file, garden.folder)
        except SecretError as error:
            raise StoreError(str(error)) from None
    return postgres_engine(url, password, read_only=read_only)


def _place(url: str) -> Path | str:
    """Return the file of a store, or the name of its database."""
    if not is_postgres(url):
        return store_file(url)
    return make_url(url).render_as_string(hide_password=True)


def _advice(place: Path | str) -> str:
    if isinstance(place, Path):
        return "see that its folder exists, can be written, and that the file is a store"
    return "see that the server runs, and that database, user and password are right"


def _gauges(garden: Garden) -> dict[str, Gauge]:
    return {
        sensor.name: Gauge(sensor.is_cumulative, sensor.tip, sensor.heavy_rain_corrected)
        for sensor in garden.sensor
        if isinstance(sensor, RainSensor)
    }


def _sensor_numbers(connection: Connection, garden: Garden, *, add: bool) -> dict[str, int]:
    question = select(tables.sensor.c.name, tables.sensor.c.id).where(
        tables.sensor.c.garden == garden.name
    )
    known = {row.name: row.id for row in connection.execute(question)}
    missing = [sensor.name for sensor in garden.sensor if sensor.name not in known]
    if missing and add:
        rows = [{"garden": garden.name, "name": name} for name in missing]
        connection.execute(tables.sensor.insert(), rows)
        known = {row.name: row.id for row in connection.execute(question)}
    return {sensor.name: known[sensor.name] for sensor in garden.sensor if sensor.name in known}
