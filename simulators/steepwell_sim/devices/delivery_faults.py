"""What goes wrong on the way: messages lost, said again, late, all at once, mangled."""

from __future__ import annotations

import random
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from steepwell_sim.devices.fault_script import Fault
    from steepwell_sim.network import Message

DELIVERY_KINDS = ("drop", "repeat", "late", "burst", "battery", "garbage")


class DeliveryFault:
    """A fault of the messages of one device.

    ``drop`` loses some, ``repeat`` says each again, ``late`` holds each for its size in hours,
    ``burst`` holds all until it is over, ``battery`` loses more and more and then all, ``garbage``
    mangles some.

    Parameters
    ----------
    fault
        As in the script.
    start
        When the devices started.
    seed
        Draws which messages.
    """

    def __init__(self, fault: Fault, start: datetime, seed: int) -> None:
        self._fault = fault
        self._begin, self._end = start + fault.after, start + fault.until
        self._held: list[tuple[datetime, Message]] = []
        self._rng = random.Random(f"{seed} {fault}")  # noqa: S311 - a simulation

    def carry(self, messages: list[Message], now: datetime) -> list[Message]:
        """Return what goes out now of what the device says now and of what was held."""
        due = [message for at, message in self._held if at <= now]
        self._held = [held for held in self._held if held[0] > now]
        if self._begin <= now:
            messages = [out for message in messages for out in self._befall(message, now)]
        return due + messages

    def _befall(self, message: Message, now: datetime) -> list[Message]:
        fault = self._fault
        if now >= self._end:
            return [] if fault.kind == "battery" else [message]
        chance = fault.chance
        if fault.kind == "battery":
            chance = (now - self._begin) / (self._end - self._begin)
        if self._rng.random() >= chance:
            return [message]
        if fault.kind == "repeat":
            return [message] * (1 + int(fault.size or 0))
        if fault.kind == "garbage":
            return [message._replace(payload=self._mangled(message.payload))]
        if fault.kind in {"late", "burst"}:
            late = now + timedelta(hours=fault.size or 0.0)
            self._held.append((self._end if fault.kind == "burst" else late, message))
        return []

    def _mangled(self, payload: bytes) -> bytes:
        """Return a payload cut short, with bits turned over, or of nothing but noise."""
        match self._rng.randrange(3):
            case 0:
                return payload[: self._rng.randrange(len(payload) or 1)]
            case 1:
                turned = bytearray(payload)
                for _ in range(3):
                    turned[self._rng.randrange(len(turned))] ^= 1 << self._rng.randrange(8)
                return bytes(turned)
            case _:
                return self._rng.randbytes(self._rng.randrange(1, 64))
