"""A small invented garden and its store."""

from __future__ import annotations

from inspect import signature
from typing import TYPE_CHECKING, Any

import pytest
from sqlalchemy import create_engine, inspect, text

from steepwell.garden.load import garden_from
from steepwell.store.store import garden_store_url, open_store

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from tests.servers import Postgres

    from steepwell.garden.garden import Garden
    from steepwell.store.store import Store

GARDEN: dict[str, Any] = {
    "garden": {
        "name": "quince-yard",
        "latitude": 52.1,
        "longitude": 0.3,
        "timezone": "Europe/London",
    },
    "butt": [{"name": "north", "litres": "210 L"}, {"name": "south", "litres": "300 L"}],
    "vessel": [{"name": "leek", "volume": "60 L"}, {"name": "nettle", "volume": "30 L"}],
    "bed": [{"name": "beans", "area": "6 m^2"}, {"name": "onions", "area": "4 m^2"}],
    "sensor": [
        {
            "name": "gauge",
            "measures": "rain",
            "topic": "quince/rain",
            "payload": "number",
            "counts": "mm since start",
        },
        {
            "name": "leek-probe",
            "measures": "temperature",
            "of": "leek",
            "topic": "quince/leek",
            "payload": "number",
        },
    ],
}


@pytest.fixture
def declared() -> dict[str, Any]:
    return GARDEN


@pytest.fixture
def garden(tmp_path: Path) -> Garden:
    return garden_from(GARDEN, path=tmp_path / "garden.toml")


@pytest.fixture
def url(garden: Garden) -> str:
    return garden_store_url(garden)


@pytest.fixture(scope="session")
def database_url(postgres_server: Postgres) -> str:
    return postgres_server.make("garden")


def emptied(url: str) -> str:
    """Take every row out of a database that an earlier test has used."""
    engine = create_engine(url)
    with engine.connect() as connection, connection.begin():
        tables = set(inspect(connection).get_table_names()) - {"alembic_version"}
        if tables:
            connection.execute(text(f"TRUNCATE {', '.join(tables)} RESTART IDENTITY CASCADE"))
    engine.dispose()
    return url


# What is asked of a store in these files is asked of both kinds.
CONTRACT = {
    *("test_arrivals", "test_jobs", "test_journal", "test_mirror", "test_readings"),
    *("test_records", "test_retention", "test_rises", "test_transactions"),
}


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    arguments = set(signature(metafunc.function).parameters)
    name = metafunc.module.__name__.rpartition(".")[2]
    if name in CONTRACT and "url" not in arguments and "store" in metafunc.fixturenames:
        on_server = pytest.param("postgres", marks=pytest.mark.postgres)
        metafunc.parametrize("kept_in", ["file", on_server])


@pytest.fixture
def kept_in() -> str:
    return "file"


@pytest.fixture
def store_url(kept_in: str, url: str, request: pytest.FixtureRequest) -> str:
    """Return the address of an empty store of the kind that the test is run for."""
    if kept_in == "file":
        return url
    return emptied(request.getfixturevalue("database_url"))


@pytest.fixture
def store(garden: Garden, store_url: str) -> Iterator[Store]:
    with open_store(store_url, garden) as store:
        yield store
