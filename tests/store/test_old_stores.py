"""Stores of every schema there ever was come to the one of today with all that is in them."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import pytest
from tests.store.old.make import FOLDER

from steepwell.store.migrate import SCHEMA
from steepwell.store.store import open_store

if TYPE_CHECKING:
    from pathlib import Path

    from steepwell.garden.garden import Garden

    Rows = list[tuple[object, ...]]

# Made by ``python -m tests.store.old.make`` when the schema was of today.
OLD = sorted(FOLDER.glob("schema-*.sql"))
LATER = datetime(2040, 1, 1, tzinfo=UTC)


def contents(connection: sqlite3.Connection, columns: dict[str, list[str]]) -> dict[str, Rows]:
    """Return the rows of some columns of some tables."""
    return {
        table: connection.execute(
            f"SELECT {', '.join(f'{name!r}' for name in names)} FROM {table}".replace("'", '"')  # noqa: S608 - names of our own tables
        ).fetchall()
        for table, names in columns.items()
    }


def columns(connection: sqlite3.Connection) -> dict[str, list[str]]:
    named = "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'"
    tables = [row[0] for row in connection.execute(named) if row[0] != "alembic_version"]
    return {
        table: [row[1] for row in connection.execute(f"PRAGMA table_info({table})")]
        for table in tables
    }


def test_there_is_a_store_of_every_schema_before_the_last() -> None:
    kept = {file.stem.removeprefix("schema-") for file in OLD}
    assert kept >= set(SCHEMA.known[:-1]), "run python -m tests.store.old.make"


@pytest.mark.parametrize("old", OLD, ids=[file.stem for file in OLD])
def test_an_old_store_keeps_what_is_in_it(old: Path, tmp_path: Path, garden: Garden) -> None:
    file = tmp_path / "steepwell.db"
    with closing(sqlite3.connect(file)) as connection:
        connection.executescript(old.read_text(encoding="utf-8"))
        held = columns(connection)
        before = contents(connection, held)
    assert all(len(rows) == 3 for rows in before.values())
    with open_store(f"sqlite:///{file}", garden) as store:
        entries = store.journal.entries(LATER)
    # The sensors of the garden that opens it are added.
    with closing(sqlite3.connect(file)) as connection:
        after = contents(connection, held)
    added = after["sensor"][3:]
    assert len(added) == 2
    assert {**after, "sensor": after["sensor"][:3]} == before
    assert [entry.kind for entry in entries] == ["rain-read"] * 3
