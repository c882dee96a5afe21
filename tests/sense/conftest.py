"""A small invented garden that hears one sensor of each kind and wording."""

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

CYLINDER = {"kind": "upright cylinder", "diameter": "50 cm", "height": "1 m"}

GARDEN: dict[str, Any] = {
    "garden": {
        "name": "quince-yard",
        "latitude": 52.1,
        "longitude": 0.3,
        "timezone": "Europe/London",
    },
    "butt": [
        {"name": "north", "shape": CYLINDER},
        {"name": "south", "litres": "200 L"},
    ],
    "vessel": [{"name": "leek", "volume": "60 L"}, {"name": "nettle", "volume": "30 L"}],
    "bed": [{"name": "beans", "area": "6 m^2"}],
    "sensor": [
        {
            "name": "gauge",
            "measures": "rain",
            "topic": "quince/rain",
            "payload": "json",
            "pointer": "/rain/tips",
            "time_pointer": "/at",
            "tip": "0.2 mm",
        },
        {
            "name": "north-level",
            "measures": "level",
            "of": "north",
            "reads": "distance from lid",
            "lid": "110 cm",
            "blind": "20 cm",
            "topic": "quince/north",
            "payload": "number",
            "unit": "cm",
        },
        {
            "name": "leek-probe",
            "measures": "temperature",
            "of": "leek",
            "topic": "quince/probes",
            "payload": "senml",
            "record": "urn:dev:ow:28ff01:leek",
        },
        {
            "name": "shade",
            "measures": "temperature",
            "of": "air",
            "topic": "quince/probes",
            "payload": "senml",
            "record": "urn:dev:ow:28ff01:air",
        },
    ],
}


@pytest.fixture
def garden(tmp_path: Path) -> Garden:
    return garden_from(GARDEN, path=tmp_path / "garden.toml")


@pytest.fixture
def store(garden: Garden) -> Iterator[Store]:
    with open_store(garden_store_url(garden), garden) as store:
        yield store
