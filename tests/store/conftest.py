"""A small invented garden and its store."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from steepwell.garden.load import garden_from
from steepwell.store.store import garden_store_url, open_store

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

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


@pytest.fixture
def store(garden: Garden, url: str) -> Iterator[Store]:
    with open_store(url, garden) as store:
        yield store
