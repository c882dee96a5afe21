"""What all tests share: the open weather records, and property tests without a stopwatch."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import settings
from tests.mirrors import FaultyServer
from tests.servers import Postgres, postgres

if TYPE_CHECKING:
    from collections.abc import Iterator

RECORDS = Path(__file__).with_name("records.py")
CANNOT_DOWNLOAD = 3

settings.register_profile("steepwell", deadline=None, max_examples=100)
settings.load_profile("steepwell")


@pytest.fixture(scope="session")
def record_paths() -> dict[str, Path]:
    made = subprocess.run([sys.executable, RECORDS], check=False, capture_output=True, text=True)
    if made.returncode == CANNOT_DOWNLOAD and os.environ.get("CI") != "true":
        pytest.skip(made.stderr.strip())
    assert made.returncode == 0, made.stderr
    return {Path(line).stem: Path(line) for line in made.stdout.splitlines()}


@pytest.fixture(scope="session")
def brussels_csv(record_paths: dict[str, Path]) -> Path:
    return record_paths["brussels"]


@pytest.fixture(scope="session")
def cambridge_csv(record_paths: dict[str, Path]) -> Path:
    return record_paths["cambridge"]


@pytest.fixture
def faulty_server() -> Iterator[FaultyServer]:
    server = FaultyServer()
    yield server
    server.close()


@pytest.fixture(scope="session")
def postgres_server() -> Iterator[Postgres]:
    with postgres() as server:
        yield server
