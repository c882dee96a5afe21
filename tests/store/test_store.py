from __future__ import annotations

import json
import sqlite3
import subprocess
import sys
from contextlib import closing
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from sqlalchemy import create_engine

from steepwell.errors import StoreError
from steepwell.garden.site import StorePlace
from steepwell.store.sqlite import store_file
from steepwell.store.store import garden_store_url, open_store
from steepwell.store.tables import metadata

if TYPE_CHECKING:
    from pathlib import Path

    from steepwell.garden.garden import Garden
    from steepwell.store.store import Store

NOW = datetime(2031, 6, 1, 12, tzinfo=UTC)

REOPEN = """
import json, sys
from steepwell.garden.load import garden_from
from steepwell.store.store import open_store
open_store(sys.argv[1], garden_from(json.loads(sys.argv[2]))).close()
print("alembic" in sys.modules)
"""


def pragma(path: Path, name: str) -> object:
    with closing(sqlite3.connect(path)) as connection:
        return connection.execute(f"PRAGMA {name}").fetchone()[0]


def test_a_new_store_has_the_tables_the_program_works_with(store: Store, url: str) -> None:
    assert store.ledger.last("outlook") is None
    engine = create_engine(url)
    with engine.connect() as connection:
        assert compare_metadata(MigrationContext.configure(connection), metadata) == []
    engine.dispose()


def test_readings_have_no_rowid_and_the_log_is_written_ahead(store: Store, url: str) -> None:
    path = store_file(url)
    assert store.readings.latest(NOW) == {}
    with closing(sqlite3.connect(path)) as connection:
        question = "SELECT sql FROM sqlite_master WHERE name = 'reading'"
        assert "WITHOUT ROWID" in connection.execute(question).fetchone()[0]
    assert pragma(path, "journal_mode") == "wal"


def test_every_commit_is_synchronised(store: Store) -> None:
    with store._database.transaction() as connection:
        # 2 is FULL (SQLite, PRAGMA synchronous).
        assert connection.exec_driver_sql("PRAGMA synchronous").scalar() == 2
        assert connection.exec_driver_sql("PRAGMA busy_timeout").scalar() == 5000


def test_what_was_written_is_there_when_opened_again(garden: Garden, url: str) -> None:
    with open_store(url, garden) as store:
        numbers = store.readings.ids
        store.ledger.finish("outlook", NOW)
    with open_store(url, garden) as store:
        assert store.ledger.last("outlook") == NOW
        assert store.readings.ids == numbers


def test_a_store_that_is_up_to_date_opens_without_the_migrating_library(
    store: Store, declared: dict[str, Any], url: str
) -> None:
    store.close()
    ran = subprocess.run(
        [sys.executable, "-c", REOPEN, url, json.dumps(declared)],
        check=True,
        capture_output=True,
        text=True,
    )
    assert ran.stdout.strip() == "False"


def test_sensors_of_another_garden_have_numbers_of_their_own(garden: Garden, url: str) -> None:
    other = garden.model_copy(
        update={"garden": garden.garden.model_copy(update={"name": "medlar-bank"})}
    )
    with open_store(url, garden) as mine, open_store(url, other) as theirs:
        assert not set(mine.readings.ids.values()) & set(theirs.readings.ids.values())


def test_a_relative_store_lies_beside_the_garden_file(garden: Garden, tmp_path: Path) -> None:
    assert garden_store_url(garden) == f"sqlite:///{tmp_path}/steepwell.db"


@pytest.mark.parametrize("url", ["", "steepwell.db", "sqlite://", "sqlite:///:memory:"])
def test_what_is_no_file_is_refused_as_a_store(garden: Garden, url: str) -> None:
    told = garden.model_copy(update={"store": StorePlace(url=url)})
    with pytest.raises(StoreError, match=r'write the store as "sqlite:///steepwell\.db"'):
        garden_store_url(told)


def test_a_missing_store_cannot_be_read(garden: Garden, url: str) -> None:
    with pytest.raises(StoreError, match="start the daemon, or note something"):
        open_store(url, garden, read_only=True)


def test_a_store_opened_to_read_refuses_to_write(store: Store, garden: Garden, url: str) -> None:
    store.ledger.finish("watch", NOW)
    with open_store(url, garden, read_only=True) as reader:
        assert reader.ledger.last("watch") == NOW
        with pytest.raises(StoreError, match="cannot be read or written"):
            reader.ledger.finish("watch", NOW)


def test_a_newer_store_is_refused(store: Store, garden: Garden, url: str) -> None:
    store.close()
    with closing(sqlite3.connect(store_file(url))) as connection, connection:
        connection.execute("UPDATE alembic_version SET version_num = '99'")
    for read_only in (False, True):
        with pytest.raises(StoreError, match="newer version of this program"):
            open_store(url, garden, read_only=read_only)


def test_a_database_of_another_program_is_refused(garden: Garden, url: str) -> None:
    with closing(sqlite3.connect(store_file(url))) as connection, connection:
        connection.execute("CREATE TABLE recipes (name TEXT)")
    with pytest.raises(StoreError, match="not a store of this program"):
        open_store(url, garden)


def test_a_file_that_is_no_database_is_refused(garden: Garden, url: str) -> None:
    store_file(url).write_bytes(b"leeks, 3 rows\n" * 100)
    with pytest.raises(StoreError, match="cannot be opened"):
        open_store(url, garden)


def test_a_store_in_a_folder_that_is_not_there_is_refused(garden: Garden, tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="see that its folder exists"):
        open_store(f"sqlite:///{tmp_path}/nowhere/steepwell.db", garden)
