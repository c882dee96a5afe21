"""A small invented garden and invented weather, for all tests of the simulators."""

from __future__ import annotations

import os
from functools import partial
from queue import Queue
from typing import TYPE_CHECKING, Any
from uuid import uuid4

import pytest

from steepwell.errors import BrokerError
from steepwell.garden.load import garden_from
from steepwell_sim.broker import RunningBroker, run_broker
from steepwell_sim.weather.invent import invent_years

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import date

    from steepwell.garden.garden import Garden
    from steepwell_sim.network import Network
    from steepwell_sim.weather.record import Day

SMALL: dict[str, Any] = {
    "garden": {
        "name": "plot",
        "latitude": 51.5,
        "longitude": 0.0,
        "timezone": "Europe/London",
    },
    "roof": [
        {"name": "house", "area": "20 m2", "into": "north"},
        {"name": "shed", "area": "5 m2", "into": "south", "share": 0.5},
    ],
    "butt": [
        {
            "name": "north",
            "shape": {
                "kind": "cone frustum",
                "bottom_diameter": "45 cm",
                "top_diameter": "55 cm",
                "height": "90 cm",
            },
            "dead_volume": "10 L",
            "overflow_to": "south",
        },
        {"name": "south", "litres": "210 L", "dead_volume": "10 L"},
    ],
    "vessel": [{"name": "leeks", "volume": "100 L"}, {"name": "barrel", "volume": "60 L"}],
    "bed": [
        {
            "name": "beans",
            "area": "4 m2",
            "butt": "south",
            "crops": [{"crop": "bean", "planted": "05-10"}],
        },
        {
            "name": "leeks",
            "area": "6 m2",
            "priority": 2,
            "crops": [{"crop": "leek", "planted": "06-05", "cleared": "03-10"}],
        },
        {"name": "bare", "area": "2 m2"},
        {
            "name": "pepper",
            "area": "0.5 m2",
            "kind": "pot",
            "crops": [{"crop": "pepper", "planted": "05-20"}],
        },
    ],
    "sensor": [
        {
            "name": "gauge",
            "measures": "rain",
            "topic": "plot/gauge",
            "payload": "senml",
            "record": "gauge",
            "tip": "0.2 mm",
        },
        {
            "name": "north-level",
            "measures": "level",
            "of": "north",
            "reads": "distance from lid",
            "lid": "100 cm",
            "blind": "20 cm",
            "topic": "plot/north",
            "payload": "json",
            "pointer": "/water/distance",
            "time_pointer": "/at",
            "unit": "mm",
        },
        {
            "name": "air",
            "measures": "temperature",
            "of": "air",
            "topic": "plot/air",
            "payload": "number",
        },
    ],
}


@pytest.fixture(scope="session")
def garden() -> Garden:
    return garden_from(SMALL)


@pytest.fixture
def garden_with() -> Callable[..., Garden]:
    """Return the garden with some sections in place of its own."""
    return lambda **sections: garden_from({**SMALL, **sections})


@pytest.fixture(scope="session")
def dry_year() -> dict[date, Day]:
    return invent_years(2030, 2031, seed=5, dry_summer=True)


@pytest.fixture(scope="session")
def broker() -> Iterator[RunningBroker]:
    """Run one real broker for all tests; where neither is installed, skip."""
    try:
        with run_broker() as running:
            yield running
    except BrokerError as error:
        if os.environ.get("CI") == "true":
            raise
        pytest.skip(str(error))


class Ear:
    """A client that hears topics, and hands out what it heard as it comes."""

    def __init__(self, network: Network, *topics: str) -> None:
        self._heard: Queue[tuple[str, bytes]] = Queue()
        client = network.add(f"ear-{uuid4().hex}")
        for topic in topics:
            client.listen(topic, partial(self._keep, topic))

    def _keep(self, topic: str, payload: bytes) -> None:
        self._heard.put((topic, payload))

    def next(self) -> tuple[str, bytes]:
        """Wait for the next message."""
        return self._heard.get(timeout=10)


@pytest.fixture
def ear() -> Callable[..., Ear]:
    return Ear
