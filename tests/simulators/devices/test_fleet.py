from __future__ import annotations

from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, Any

import pytest

from steepwell.errors import BrokerError
from steepwell_sim.devices.fleet import Fleet
from steepwell_sim.devices.hub import Hub
from steepwell_sim.network import Message, Network
from steepwell_sim.start import world_on

if TYPE_CHECKING:
    from collections.abc import Callable

    from steepwell.garden.garden import Garden
    from steepwell_sim.broker import RunningBroker
    from steepwell_sim.weather.record import Day

NOON = datetime(2031, 6, 1, 12, tzinfo=UTC)
DAY = date(2031, 6, 1)


def test_every_device_speaks_for_itself(garden: Garden, dry_year: dict[date, Day]) -> None:
    world = world_on(garden, dry_year, DAY, last=DAY, seed=1)
    gauge, level, air = Fleet(garden, world, seed=1).messages(NOON)
    assert gauge == Message(
        "sim-plot-gauge",
        "plot/gauge",
        b'[{"bt":1938081600,"n":"gauge","u":"count","v":0}]',
    )
    assert (level.client_id, level.topic) == ("sim-plot-north-level", "plot/north")
    assert level.payload.startswith(b'{"at":"2031-06-01T12:00:00.000Z","water":{"distance":')
    assert -10 < float(air.payload) < 40


def test_sensors_on_one_topic_are_one_device(
    garden_with: Callable[..., Garden], dry_year: dict[date, Day]
) -> None:
    probe = {"measures": "temperature", "topic": "plot/shed", "payload": "senml"}
    shed = garden_with(
        sensor=[
            {**probe, "name": "one", "of": "leeks", "record": "shed-1"},
            {**probe, "name": "two", "of": "barrel", "record": "shed-2"},
        ]
    )
    world = world_on(shed, dry_year, DAY, last=DAY, seed=1)
    (device,) = Fleet(shed, world, seed=1).devices
    message = device.payload(NOON)
    assert message.startswith(b'[{"bn":"shed-","bt":1938081600,"n":"1","u":"Cel","v":')
    assert b'{"n":"2","u":"Cel","v":' in message


def test_a_hub_carries_what_devices_say(broker: RunningBroker, ear: Callable[..., Any]) -> None:
    network = Network(broker.host, broker.port)
    hearing = ear(network, "plot/air")
    with network, Hub(broker.host, broker.port, ["one", "two"]) as hub:
        hub.send([Message("one", "plot/air", b"1.5"), Message("two", "plot/air", b"2.5")])
        assert {hearing.next() for _ in range(2)} == {("plot/air", b"1.5"), ("plot/air", b"2.5")}


def test_a_hub_says_why_it_does_not_start() -> None:
    with pytest.raises(BrokerError, match="No broker answers"), Hub("127.0.0.1", 1, ["one"]):
        pass
