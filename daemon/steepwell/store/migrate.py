"""Brings a store to the schema this program works with."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import column, inspect, select, table

from steepwell.errors import StoreError
from steepwell.store.fresh import make_store
from steepwell.store.sqlite import FOR_WRITING, back_up

if TYPE_CHECKING:
    from sqlalchemy import Connection, Engine

_VERSION = table("alembic_version", column("version_num"))


@dataclass(frozen=True, slots=True)
class Schema:
    """The schemas a program knows: all that were released, the last being its own.

    Attributes
    ----------
    known
        Their numbers, oldest first.
    scripts
        Folder with the Alembic scripts.
    """

    known: tuple[str, ...]
    scripts: Path

    @property
    def head(self) -> str:
        """The schema the program works with."""
        return self.known[-1]


SCHEMA = Schema(
    known=tuple(str(number) for number in range(1, 9)), scripts=Path(__file__).parent / "migrations"
)


def bring_up_to_date(engine: Engine, place: Path | str, schema: Schema = SCHEMA) -> None:
    """Make or migrate a store, with a backup of what was there if it is a file.

    An empty file gets today's schema at once; a server goes through all of them.

    Parameters
    ----------
    engine
        The store.
    place
        Its file, or what to call it.
    schema
        What to migrate to.

    Raises
    ------
    StoreError
        If the store is newer than this program, or is no store of ours.
    """
    with engine.connect() as connection:
        version = _version(connection, place, schema)
    if version == schema.head:
        return
    if version is not None and isinstance(place, Path):
        back_up(place, place.with_name(f"{place.name}.schema-{version}"))
    writing = engine.execution_options(**{FOR_WRITING: True})
    with writing.connect() as connection, connection.begin():
        # Another process may have migrated it in the meantime.
        version = _version(connection, place, schema)
        if version is None and isinstance(place, Path) and schema is SCHEMA:
            make_store(connection, schema.head)
        elif version != schema.head:
            upgrade(connection, schema)


def require_up_to_date(engine: Engine, place: Path | str, schema: Schema = SCHEMA) -> None:
    """Refuse a store that would have to be migrated first.

    Raises
    ------
    StoreError
        If the schema of the store is not this program's.
    """
    with engine.connect() as connection:
        if _version(connection, place, schema) != schema.head:
            raise StoreError(
                f"{place} is older than this program; start the daemon once to update it"
            )


def _version(connection: Connection, place: Path | str, schema: Schema) -> str | None:
    """Return the schema of a store; None for an empty file."""
    tables = inspect(connection).get_table_names()
    if not tables:
        return None
    if _VERSION.name not in tables:
        raise StoreError(
            f"{place} is not a store of this program; name another file in the garden file"
        )
    version: str | None = connection.execute(select(_VERSION.c.version_num)).scalar()
    if version is not None and version not in schema.known:
        raise StoreError(
            f"{place} was written by a newer version of this program (schema {version}, known up "
            f"to {schema.head}); install that version again, or name another under [store]"
        )
    return version


def upgrade(connection: Connection, schema: Schema) -> None:
    """Go through every schema from the one of a store to the last."""
    # A store that is up to date must open without the time this import takes.
    from alembic import command  # noqa: PLC0415
    from alembic.config import Config  # noqa: PLC0415

    config = Config()
    config.set_main_option("script_location", str(schema.scripts).replace("%", "%%"))
    config.attributes["connection"] = connection
    command.upgrade(config, "head")
