"""Copies everything that a store holds into another one, of another kind if need be."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import func, select

from steepwell.store.migrate import bring_up_to_date
from steepwell.store.sqlite import FOR_WRITING, make_whole, sqlite_engine
from steepwell.store.tables import metadata

if TYPE_CHECKING:
    from pathlib import Path

    from sqlalchemy import Connection, Engine, Table

ROWS_AT_ONCE = 2000


def is_empty(engine: Engine) -> bool:
    """Return whether a store of today's schema holds nothing yet."""
    with engine.connect() as connection:
        return all(
            connection.execute(select(table).limit(1)).first() is None
            for table in metadata.sorted_tables
        )


def copy_everything(source: Engine, target: Engine) -> None:
    """Copy every row of a store into an empty one, both of today's schema.

    Parameters
    ----------
    source
        Read at one moment.
    target
        Gets all of it in one transaction.
    """
    writing = target.execution_options(**{FOR_WRITING: True})
    with source.connect() as reads, reads.begin(), writing.connect() as writes, writes.begin():
        for table in metadata.sorted_tables:
            _copy(table, reads, writes)
            _count_on(table, writes)


def copy_to_file(source: Engine, file: Path) -> None:
    """Copy everything into a new SQLite file."""
    target = sqlite_engine(file, read_only=False)
    try:
        bring_up_to_date(target, file)
        copy_everything(source, target)
    finally:
        target.dispose()
    make_whole(file)


def copy_from_file(file: Path, target: Engine) -> None:
    """Copy everything of an SQLite file, which is brought up to date, into an empty store."""
    source = sqlite_engine(file, read_only=False)
    try:
        bring_up_to_date(source, str(file))
        copy_everything(source, target)
    finally:
        source.dispose()


def _copy(table: Table, reads: Connection, writes: Connection) -> None:
    question = select(table).order_by(*table.primary_key.columns)
    found = reads.execution_options(yield_per=ROWS_AT_ONCE).execute(question)
    for rows in found.mappings().partitions():
        writes.execute(table.insert(), [dict(row) for row in rows])


def _count_on(table: Table, writes: Connection) -> None:
    """Have PostgreSQL number new rows after those that came with their numbers."""
    column = table.autoincrement_column
    if writes.dialect.name != "postgresql" or column is None:
        return
    sequence = func.pg_get_serial_sequence(table.name, column.name)
    if writes.execute(select(sequence)).scalar() is not None:
        last = select(func.max(column)).scalar_subquery()
        writes.execute(select(func.setval(sequence, func.coalesce(last, 1), last.is_not(None))))
