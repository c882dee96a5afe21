"""What goes wrong in a probe, so that a device says what is not so."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from steepwell_sim.devices.fault_script import Fault
    from steepwell_sim.devices.payloads import Figure

VALUE_KINDS = ("drift", "spike", "freeze", "reset", "battery")

_DAY = timedelta(days=1)
# A regulator that starves: what is measured sags by this part of itself by the end.
_SAGS = 0.15


class ValueFault:
    """A fault of one sensor: what it measured, and what it says.

    ``drift`` adds its size a day, ``spike`` adds it now and then, ``freeze`` says the same over and
    over, ``reset`` begins to count anew, ``battery`` lets the value sag.

    Parameters
    ----------
    fault
        As in the script; its size is in the unit of the messages.
    start
        When the devices started.
    seed
        Draws spikes.
    """

    def __init__(self, fault: Fault, start: datetime, seed: int) -> None:
        self._fault = fault
        self._begin, self._end = start + fault.after, start + fault.until
        self._held: float | None = None
        self._rng = random.Random(f"{seed} {fault}")  # noqa: S311 - a simulation

    def twist(self, figure: Figure, now: datetime) -> Figure:
        """Return what is said instead of what was measured."""
        fault = self._fault
        # What began to count anew does not go back.
        if now < self._begin or (now >= self._end and fault.kind != "reset"):
            return figure
        value, size = figure.value, fault.size or 0.0
        match fault.kind:
            case "drift":
                value += size * ((now - self._begin) / _DAY)
            case "spike" if self._rng.random() < fault.chance:
                value += size
            case "freeze":
                self._held = value = value if self._held is None else self._held
            case "reset":
                self._held = value if self._held is None else self._held
                value -= self._held
            case "battery":
                value *= 1.0 - _SAGS * ((now - self._begin) / (self._end - self._begin))
            case _:
                pass
        return replace(figure, value=value)
