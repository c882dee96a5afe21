"""A small invented garden with a page, its store, and somebody who looks at it."""

from __future__ import annotations

import copy
import shutil
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import pytest
from starlette.testclient import TestClient
from tests.tell.conftest import GARDEN, PLAN, outlook

from steepwell.clock import ReplayClock
from steepwell.garden.load import garden_from
from steepwell.page.app import page_app
from steepwell.store.store import garden_store_url, open_store

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from steepwell.garden.garden import Garden
    from steepwell.page.desk import Ask
    from steepwell.store.store import Store

__all__ = ["outlook"]

Json = dict[str, Any]

# Friday 6 June 2031, 10:00 in the garden.
NOW = datetime(2031, 6, 6, 9, 0, tzinfo=UTC)
ALL_OF_THE_NETWORK = "0.0.0.0"  # noqa: S104 - where nothing listens in tests
HOME = "http://localhost:8088"
HERE = ("127.0.0.1", 40_000)
BESIDE: Json = {
    "schema": 1,
    "water_ahead": None,
    "vessels": [
        {
            "name": "leek",
            "plants": ["leek"],
            "dilution_parts": 300,
            "dose": "2 tablespoons",
            "feed_ml": 30.0,
            "cans": 1,
            "locks": [],
        }
    ],
    "beds": [
        {"name": "beans", "crop": "bean", "planted": "2031-05-12"},
        {"name": "leeks", "crop": "leek", "planted": None},
    ],
}


@pytest.fixture
def clock() -> ReplayClock:
    return ReplayClock(NOW)


@pytest.fixture
def raw() -> Json:
    return {**copy.deepcopy(GARDEN), "page": {}}


@pytest.fixture
def garden(raw: Json, tmp_path: Path) -> Garden:
    return garden_from(raw, path=tmp_path / "garden.toml")


@pytest.fixture(scope="session")
def blank(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a store with nothing in it: to make one takes longer than most tests."""
    folder = tmp_path_factory.mktemp("blank")
    garden = garden_from(copy.deepcopy(GARDEN), path=folder / "garden.toml")
    open_store(garden_store_url(garden), garden).close()
    return folder / "steepwell.db"


@pytest.fixture
def store(garden: Garden, blank: Path) -> Iterator[Store]:
    shutil.copy(blank, garden.folder)
    with open_store(garden_store_url(garden), garden) as store:
        yield store


@pytest.fixture
def worked_out(store: Store, outlook: Json) -> None:
    """Keep this morning's outlook and plan."""
    issued = NOW.replace(hour=5, minute=30)
    store.results.save("outlook", issued, outlook)
    store.results.save("plan", issued, PLAN)
    store.results.save("page", issued, BESIDE)


@pytest.fixture
def ask() -> Ask:
    """Return a worker that finds nothing against anything."""

    def ask(task: str, now: datetime, **more: object) -> Json:  # noqa: ARG001 - the fake of one
        return {}

    return ask


@pytest.fixture
def page(garden: Garden, store: Store, clock: ReplayClock, ask: Ask) -> Iterator[TestClient]:
    assert garden.page is not None
    app = page_app(garden, garden.page, store, clock, ask)
    with TestClient(app, base_url=HOME, client=HERE) as client:
        yield client
