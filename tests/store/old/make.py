"""Writes a small store of a schema as SQL, with rows in every table: run it at each release.

python -m tests.store.old.make        the schema of today, if it is not there yet
"""

from __future__ import annotations

import sqlite3
import tempfile
from contextlib import closing
from pathlib import Path
from typing import Any

from alembic import command
from alembic.config import Config
from sqlalchemy import JSON, Boolean, Float, LargeBinary, MetaData, Table
from sqlalchemy.types import Integer, TypeEngine

from steepwell.store.migrate import SCHEMA
from steepwell.store.sqlite import FOR_WRITING, sqlite_engine

FOLDER = Path(__file__).parent
ENTRY = {"kind": "rain-read", "at": "2031-06-01T12:00:00Z", "mm": 2.5}
ROWS = 3


def main() -> None:
    """Write what is missing."""
    for version in SCHEMA.known:
        file = FOLDER / f"schema-{version}.sql"
        if not file.exists():
            file.write_text(dump(version), encoding="utf-8")


def dump(version: str) -> str:
    """Return a store of a schema as SQL."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "old.db"
        _fill(file, version)
        with closing(sqlite3.connect(file)) as connection:
            return "\n".join(connection.iterdump()) + "\n"


def _fill(file: Path, version: str) -> None:
    engine = sqlite_engine(file, read_only=False).execution_options(**{FOR_WRITING: True})
    with engine.connect() as connection, connection.begin():
        config = Config()
        config.set_main_option("script_location", str(SCHEMA.scripts))
        config.attributes["connection"] = connection
        command.upgrade(config, version)
        metadata = MetaData()
        metadata.reflect(connection)
        for table in metadata.sorted_tables:
            if table.name != "alembic_version":
                rows = [_row(table, number) for number in range(1, ROWS + 1)]
                connection.execute(table.insert(), rows)
    engine.dispose()


def _row(table: Table, number: int) -> dict[str, Any]:
    row = {column.name: _value(column.type, column.name, number) for column in table.columns}
    if table.name == "journal":
        row |= {"kind": "rain-read", "entry": ENTRY, "withdraws": None}
    return row


def _value(kind: TypeEngine[Any], name: str, number: int) -> object:
    if isinstance(kind, Boolean):
        return number % 2 == 0
    if isinstance(kind, Integer):
        return 1_938_000_000_000 + number if name.endswith("_ms") else number
    if isinstance(kind, Float):
        return number + 0.25
    if isinstance(kind, LargeBinary):
        return bytes([number, 0, 255])
    if isinstance(kind, JSON):
        return {"schema": 1, "figures": [number, None]}
    return f"{name} {number} süß"


if __name__ == "__main__":
    main()
