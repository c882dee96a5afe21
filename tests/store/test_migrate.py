from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from typing import TYPE_CHECKING

import pytest

from steepwell.errors import StoreError
from steepwell.store.migrate import (
    SCHEMA,
    Schema,
    bring_up_to_date,
    require_up_to_date,
    upgrade,
)
from steepwell.store.sqlite import FOR_WRITING, sqlite_engine, store_file

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from sqlalchemy import Engine

    from steepwell.store.store import Store

NEXT = """
from alembic import op
import sqlalchemy as sa
revision = "next"
down_revision = "{head}"
def upgrade():
    op.add_column("sensor", sa.Column("colour", sa.String))
    {then}
"""


@pytest.fixture
def file(store: Store, url: str) -> Path:
    store.close()
    return store_file(url)


@pytest.fixture
def engine(file: Path) -> Iterator[Engine]:
    engine = sqlite_engine(file, read_only=False)
    yield engine
    engine.dispose()


def next_schema(folder: Path, then: str = "pass") -> Schema:
    scripts = folder / "migrations"
    shutil.copytree(SCHEMA.scripts, scripts)
    script = NEXT.format(head=SCHEMA.head, then=then)
    (scripts / "versions" / "next.py").write_text(script, encoding="utf-8")
    return Schema(known=(*SCHEMA.known, "next"), scripts=scripts)


def columns(file: Path) -> list[str]:
    with closing(sqlite3.connect(file)) as connection:
        return [row[1] for row in connection.execute("PRAGMA table_info(sensor)")]


def described(file: Path) -> dict[str, object]:
    """Return what a file holds: tables with their columns, keys and indices, and triggers."""
    with closing(sqlite3.connect(file)) as connection:
        master = connection.execute("SELECT type, name, sql FROM sqlite_master").fetchall()
        asked = ("table_info", "foreign_key_list", "index_list", "index_info")
        return {
            name: (
                kind,
                [connection.execute(f"PRAGMA {each}({name})").fetchall() for each in asked],
                sql if kind == "trigger" else [word in sql for word in ("ROWID", "AUTOINCREMENT")],
            )
            for kind, name, sql in master
            if sql is not None
        } | {"version": connection.execute("SELECT * FROM alembic_version").fetchall()}


def test_a_store_made_at_once_is_the_one_that_migrations_come_to(
    file: Path, tmp_path: Path
) -> None:
    other = tmp_path / "other.db"
    engine = sqlite_engine(other, read_only=False)
    writing = engine.execution_options(**{FOR_WRITING: True})
    with writing.connect() as connection, connection.begin():
        upgrade(connection, SCHEMA)
    engine.dispose()
    made, migrated = described(file), described(other)
    assert made == migrated
    assert {"journal_refuses_update", "journal_refuses_delete", "hour_fact"} <= set(made)


def test_a_store_is_backed_up_before_it_is_migrated(
    engine: Engine, file: Path, tmp_path: Path
) -> None:
    bring_up_to_date(engine, file, next_schema(tmp_path))
    assert "colour" in columns(file)
    backup = file.with_name(f"steepwell.db.schema-{SCHEMA.head}")
    assert "colour" not in columns(backup)
    with closing(sqlite3.connect(backup)) as connection:
        assert connection.execute("SELECT count(*) FROM sensor").fetchone() == (2,)


def test_a_store_that_is_up_to_date_is_left_alone(engine: Engine, file: Path) -> None:
    bring_up_to_date(engine, file)
    assert [path.name for path in file.parent.glob("*.schema-*")] == []


def test_a_migration_that_fails_leaves_the_store_as_it_was(
    engine: Engine, file: Path, tmp_path: Path
) -> None:
    schema = next_schema(tmp_path, then="raise RuntimeError('no luck')")
    with pytest.raises(RuntimeError, match="no luck"):
        bring_up_to_date(engine, file, schema)
    assert "colour" not in columns(file)
    require_up_to_date(engine, file)


def test_an_older_store_is_not_read_before_it_is_migrated(
    engine: Engine, file: Path, tmp_path: Path
) -> None:
    with pytest.raises(StoreError, match="older than this program"):
        require_up_to_date(engine, file, next_schema(tmp_path))


def test_a_store_of_the_first_schema_keeps_what_is_in_it(tmp_path: Path) -> None:
    file = tmp_path / "first.db"
    first = tmp_path / "first"
    shutil.copytree(SCHEMA.scripts, first, ignore=shutil.ignore_patterns("000[2-9]*"))
    engine = sqlite_engine(file, read_only=False)
    bring_up_to_date(engine, file, Schema(known=("1",), scripts=first))
    with closing(sqlite3.connect(file)) as connection, connection:
        connection.execute("INSERT INTO sensor VALUES (1, 'quince-yard', 'gauge', 17)")
        connection.execute("INSERT INTO reading VALUES (17, 1, 2.5, 1, NULL)")
    bring_up_to_date(engine, file)
    require_up_to_date(engine, file)
    with closing(sqlite3.connect(file)) as connection:
        assert connection.execute("SELECT * FROM reading").fetchall() == [(17, 1, 2.5, 1, None)]
        held = connection.execute("SELECT name, newest_ms, mirrored_ms FROM sensor").fetchall()
    assert held == [("gauge", 17, None)]
    engine.dispose()
