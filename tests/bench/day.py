"""Measures what a day of a garden takes of a core: 20 sensors a minute, 96 rounds, one outlook."""

from __future__ import annotations

import tempfile
import time
from pathlib import Path

from tests.bench.figures import Figure, Scale, UnmeasuredError
from tests.faults.soak import Soak
from tests.servers import mosquitto, mosquitto_binary

MOST_S = 30.0
ROUNDS, QUICK_ROUNDS = 96, 24


def measure(scale: Scale) -> list[Figure]:
    """Return the time of a core that daemon and worker take for the first day of a garden."""
    if mosquitto_binary() is None:
        raise UnmeasuredError("Mosquitto is not installed")
    rounds = QUICK_ROUNDS if scale.quick else ROUNDS
    with tempfile.TemporaryDirectory() as name, mosquitto(Path(name), quiet=True) as broker:
        soak = Soak(Path(name), broker.port)
        before, began = soak.core_s(), time.perf_counter()
        soak.day(0, rounds)
        took_s, passed_s = soak.core_s() - before, time.perf_counter() - began
        readings = soak.readings()
        soak.close()
    note = f"{readings:,} readings, {rounds} rounds, one outlook; in {passed_s:.0f} s"
    return [Figure("a day's work, of a core", "s", (took_s,), most=MOST_S, note=note)]
