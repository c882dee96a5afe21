"""All the devices of a garden, each a client of the broker."""

from __future__ import annotations

from contextlib import ExitStack
from typing import TYPE_CHECKING, Self

from steepwell_sim.devices.instruments import Instrument
from steepwell_sim.devices.payloads import as_json, as_number, as_senml
from steepwell_sim.link import Link

if TYPE_CHECKING:
    from datetime import datetime
    from types import TracebackType

    from steepwell.garden.garden import Garden
    from steepwell.garden.sensors import Sensor
    from steepwell_sim.world.world import World


class Device:
    """The hardware that speaks on one topic, with the sensors that hang on it.

    Parameters
    ----------
    topic
        Where it speaks.
    instruments
        Its sensors, all with the same kind of payload.
    link
        Its way to the broker.
    """

    def __init__(self, topic: str, instruments: list[Instrument], link: Link) -> None:
        self.topic = topic
        self.link = link
        self._instruments = instruments

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
        self.link.publish(self.topic, self.message(now))


class Fleet:
    """All devices of a garden; a context that connects and disconnects them.

    Parameters
    ----------
    garden
        Declares the sensors.
    world
        What they measure.
    host, port
        The broker.
    seed
        Draws their noise.
    """

    def __init__(self, garden: Garden, world: World, host: str, port: int, seed: int) -> None:
        self.devices = [
            Device(
                topic,
                [Instrument(sensor, world, seed) for sensor in sensors],
                Link(f"sim-{garden.name}-{sensors[0].name}", host, port),
            )
            for topic, sensors in sensors_by_topic(garden).items()
        ]
        self._open = ExitStack()

    def report(self, now: datetime) -> int:
        """Let every device measure and send; return how many messages that makes."""
        for device in self.devices:
            device.report(now)
        return len(self.devices)

    def __enter__(self) -> Self:
        """Connect them all."""
        with ExitStack() as opening:
            for device in self.devices:
                opening.enter_context(device.link)
            self._open = opening.pop_all()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Disconnect them all."""
        self._open.close()


def sensors_by_topic(garden: Garden) -> dict[str, list[Sensor]]:
    """Return the sensors that share each topic, and so a device."""
    found: dict[str, list[Sensor]] = {}
    for sensor in garden.sensor:
        found.setdefault(sensor.topic, []).append(sensor)
    return found
