"""Makes an empty file a store at once, without going through every schema there was."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

from sqlalchemy import text
from sqlalchemy.dialects.sqlite import dialect
from sqlalchemy.schema import CreateIndex, CreateTable

from steepwell.store.tables import metadata

if TYPE_CHECKING:
    from sqlalchemy import Connection

_VERSION = (
    "CREATE TABLE alembic_version (version_num VARCHAR(32) NOT NULL, "
    "CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num))"
)
_JOURNAL_REFUSES = (
    "CREATE TRIGGER journal_refuses_{name} BEFORE {change} ON journal BEGIN SELECT "
    "RAISE(ABORT, 'the journal is append-only: withdraw an entry by another'); END"
)


def make_store(connection: Connection, version: str) -> None:
    """Make tables, indices and triggers in an empty SQLite file.

    Parameters
    ----------
    connection
        To the file, in a transaction that writes.
    version
        The schema that ``tables`` describes.
    """
    for statement in _statements():
        connection.exec_driver_sql(statement)
    made = text("INSERT INTO alembic_version (version_num) VALUES (:version)")
    connection.execute(made, {"version": version})


@cache
def _statements() -> tuple[str, ...]:
    tables = metadata.sorted_tables
    asked: list[CreateTable | CreateIndex] = [
        *(CreateTable(table) for table in tables),
        *(CreateIndex(index) for table in tables for index in table.indexes),
    ]
    triggers = [
        _JOURNAL_REFUSES.format(name=change.lower(), change=change)
        for change in ("UPDATE", "DELETE")
    ]
    return (*(str(each.compile(dialect=dialect())) for each in asked), *triggers, _VERSION)
