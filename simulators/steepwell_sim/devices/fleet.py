"""All the devices of a garden, each a client of the broker."""

from __future__ import annotations

from typing import TYPE_CHECKING

from steepwell_sim.devices.instruments import Instrument
from steepwell_sim.devices.payloads import as_json, as_number, as_senml

if TYPE_CHECKING:
    from datetime import datetime

    from steepwell.garden.garden import Garden
    from steepwell.garden.sensors import Sensor
    from steepwell_sim.network import Client, Network
    from steepwell_sim.world.world import World


class Device:
    """The hardware that speaks on one topic, with the sensors that hang on it.

    Parameters
    ----------
    topic
        Where it speaks.
    instruments
        Its sensors, all with the same kind of payload.
    client
        Its way to the broker.
    """

    def __init__(self, topic: str, instruments: list[Instrument], client: Client) -> None:
        self.topic = topic
        self._instruments = instruments
        self._client = client

    def message(self, now: datetime) -> bytes:
        """Measure, and return the message that says so."""
        figures = [instrument.measure() for instrument in self._instruments]
        match self._instruments[0].sensor.payload:
            case "senml":
                return as_senml(figures, now)
            case "json":
                return as_json(figures, now)
            case "number":
                return as_number(figures[0])

    def report(self, now: datetime) -> None:
        """Measure and send."""
        self._client.publish(self.topic, self.message(now))


class Fleet:
    """All devices of a garden, each a client of its own.

    Parameters
    ----------
    garden
        Declares the sensors; those that share a topic share a device.
    world
        What they measure.
    network
        The network they join, not yet entered.
    seed
        Draws their noise.
    """

    def __init__(self, garden: Garden, world: World, network: Network, seed: int) -> None:
        by_topic: dict[str, list[Sensor]] = {}
        for sensor in garden.sensor:
            by_topic.setdefault(sensor.topic, []).append(sensor)
        self.devices = [
            Device(
                topic,
                [Instrument(sensor, world, seed) for sensor in sensors],
                network.add(f"sim-{garden.name}-{sensors[0].name}"),
            )
            for topic, sensors in by_topic.items()
        ]

    def report(self, now: datetime) -> int:
        """Let every device measure and send; return how many messages that makes."""
        for device in self.devices:
            device.report(now)
        return len(self.devices)
