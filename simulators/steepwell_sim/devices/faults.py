"""A fault script at work: on what probes measure, on messages, on connections, on the garden."""

from __future__ import annotations

import random
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from steepwell_sim.devices.delivery_faults import DELIVERY_KINDS, DeliveryFault
from steepwell_sim.devices.value_faults import VALUE_KINDS, ValueFault

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.garden.garden import Garden
    from steepwell_sim.devices.fault_script import Fault
    from steepwell_sim.devices.payloads import Figure
    from steepwell_sim.network import Message
    from steepwell_sim.world.world import World

# What gets past a blocked downpipe, and into a blocked gauge.
_PASSES = 0.05


class Faults:
    """Everything that goes wrong in a simulated garden.

    Parameters
    ----------
    faults
        The script; without it nothing goes wrong.
    garden
        Tells the topic of each sensor.
    start
        When the devices start.
    seed
        Equal seeds, equal faults.
    """

    def __init__(self, faults: Sequence[Fault], garden: Garden, start: datetime, seed: int) -> None:
        topic = {sensor.name: sensor.topic for sensor in garden.sensor}
        self._start = start
        self._faults = [(fault, topic.get(fault.sensor or "")) for fault in faults]
        self._values = [
            (fault.sensor, ValueFault(fault, start, seed))
            for fault in faults
            if fault.kind in VALUE_KINDS
        ]
        self._deliveries = [
            (where, DeliveryFault(fault, start, seed))
            for fault, where in self._faults
            if fault.kind in DELIVERY_KINDS
        ]
        self._rng = random.Random(f"{seed} connections")  # noqa: S311 - a simulation

    def _rage(self, kind: str, now: datetime) -> list[tuple[Fault, str | None]]:
        """Return the faults of a kind that are on now, each with the topic it concerns."""
        since = now - self._start
        return [
            (fault, topic)
            for fault, topic in self._faults
            if fault.kind == kind and fault.after <= since < fault.until
        ]

    def twist(self, figure: Figure, sensor: str, now: datetime) -> Figure:
        """Return what a sensor says instead of what it measured."""
        for name, fault in self._values:
            if name == sensor:
                figure = fault.twist(figure, now)
        return figure

    def shown(self, topic: str, now: datetime) -> datetime:
        """Return what the clock of the device on a topic shows."""
        wrong_h = sum(
            fault.size or 0.0 for fault, where in self._rage("clock", now) if where == topic
        )
        return now + timedelta(hours=wrong_h)

    def carry(self, message: Message, now: datetime) -> list[Message]:
        """Return what goes out now when a device says a message."""
        messages = [message]
        for topic, fault in self._deliveries:
            if topic == message.topic:
                messages = fault.carry(messages, now)
        return messages

    def hangs_up(self, topic: str, now: datetime) -> bool:
        """Return whether the device on a topic loses its connection now."""
        return any(
            where == topic and self._rng.random() < fault.chance
            for fault, where in self._rage("reconnect", now)
        )

    def befall(self, world: World, now: datetime) -> None:
        """Put the garden's own faults as they are now."""
        rainwater = world.rainwater
        leaks = {fault.butt: fault.size or 0.0 for fault, _ in self._rage("leak", now)}
        for name, butt in rainwater.butts.items():
            butt.leak_l_d = leaks.get(name, 0.0)
        blocked = {fault.roof for fault, _ in self._rage("blocked downpipe", now)}
        for roof in rainwater.roofs:
            roof.blocked = 1.0 - _PASSES if roof.declared.name in blocked else 0.0
        world.gauge_blocked = 1.0 - _PASSES if self._rage("blocked gauge", now) else 0.0
