from __future__ import annotations

from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, Any

from steepwell_sim.devices.fleet import Fleet
from steepwell_sim.network import Network
from steepwell_sim.start import world_on

if TYPE_CHECKING:
    from collections.abc import Callable

    from steepwell.garden.garden import Garden
    from steepwell_sim.broker import RunningBroker
    from steepwell_sim.weather.record import Day

NOON = datetime(2031, 6, 1, 12, tzinfo=UTC)
DAY = date(2031, 6, 1)


def test_every_device_speaks_for_itself(
    garden: Garden, dry_year: dict[date, Day], broker: RunningBroker, ear: Callable[..., Any]
) -> None:
    world = world_on(garden, dry_year, DAY, last=DAY, seed=1)
    network = Network(broker.host, broker.port)
    hearing = ear(network, "plot/gauge", "plot/north", "plot/air")
    fleet = Fleet(garden, world, network, seed=1)
    with network:
        assert fleet.report(NOON) == 3
        heard = dict(hearing.next() for _ in range(3))
    assert heard["plot/gauge"] == b'[{"bt":1938081600,"n":"gauge","u":"count","v":0}]'
    assert heard["plot/north"].startswith(b'{"at":"2031-06-01T12:00:00.000Z","water":{"distance":')
    assert -10 < float(heard["plot/air"]) < 40


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
    (device,) = Fleet(shed, world, Network("127.0.0.1", 1), seed=1).devices
    message = device.message(NOON)
    assert message.startswith(b'[{"bn":"shed-","bt":1938081600,"n":"1","u":"Cel","v":')
    assert b'{"n":"2","u":"Cel","v":' in message
