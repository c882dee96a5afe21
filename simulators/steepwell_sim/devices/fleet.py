"""All the devices of a garden: what each of them says, and as which client."""

from __future__ import annotations

from typing import TYPE_CHECKING

from steepwell_sim.devices.instruments import Instrument
from steepwell_sim.devices.payloads import as_json, as_number, as_senml
from steepwell_sim.network import Message

if TYPE_CHECKING:
    from datetime import datetime

    from steepwell.garden.garden import Garden
    from steepwell.garden.sensors import Sensor
    from steepwell_sim.devices.faults import Faults
    from steepwell_sim.world.world import World


class Device:
    """The hardware that speaks on one topic, with the sensors that hang on it.

    Parameters
    ----------
    topic
        Where it speaks.
    instruments
        Its sensors, all with the same kind of payload.
    client_id
        Its name at the broker.
    """

    def __init__(self, topic: str, instruments: list[Instrument], client_id: str) -> None:
        self.topic = topic
        self.client_id = client_id
        self._instruments = instruments

    def payload(self, now: datetime, faults: Faults | None = None) -> bytes:
        """Measure, and return the payload that says so, or says otherwise."""
        figures = [instrument.measure() for instrument in self._instruments]
        if faults is not None:
            names = [instrument.sensor.name for instrument in self._instruments]
            figures = [
                faults.twist(figure, name, now) for figure, name in zip(figures, names, strict=True)
            ]
            now = faults.shown(self.topic, now)
        match self._instruments[0].sensor.payload:
            case "senml":
                return as_senml(figures, now)
            case "json":
                return as_json(figures, now)
            case "number":
                return as_number(figures[0])


class Fleet:
    """All devices of a garden, each a client of its own.

    Parameters
    ----------
    garden
        Declares the sensors; those that share a topic share a device.
    world
        What they measure.
    seed
        Draws their noise.
    faults
        What goes wrong with them, if anything does.
    """

    def __init__(
        self, garden: Garden, world: World, seed: int, faults: Faults | None = None
    ) -> None:
        self._faults = faults
        by_topic: dict[str, list[Sensor]] = {}
        for sensor in garden.sensor:
            by_topic.setdefault(sensor.topic, []).append(sensor)
        self.devices = [
            Device(
                topic,
                [Instrument(sensor, world, seed) for sensor in sensors],
                f"sim-{garden.name}-{sensors[0].name}",
            )
            for topic, sensors in by_topic.items()
        ]

    @property
    def client_ids(self) -> list[str]:
        """The name of each device at the broker."""
        return [device.client_id for device in self.devices]

    def messages(self, now: datetime) -> list[Message]:
        """Let every device measure, and return what they say."""
        faults = self._faults
        said = [
            Message(device.client_id, device.topic, device.payload(now, faults))
            for device in self.devices
        ]
        if faults is None:
            return said
        return [out for message in said for out in faults.carry(message, now)]

    def hanging_up(self, now: datetime) -> list[str]:
        """Return the devices that lose their connection now, by their name at the broker."""
        if self._faults is None:
            return []
        return [
            device.client_id for device in self.devices if self._faults.hangs_up(device.topic, now)
        ]
