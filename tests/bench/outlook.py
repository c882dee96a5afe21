"""Measures the outlook of a large garden beside the bare water balance of as many bed-days."""

from __future__ import annotations

import json
import os
import sys
import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from tests.bench.figures import Figure, Scale, child
from tests.bench.garden import garden_in, garden_text
from tests.records import fetch

from steepwell.model.soil import root_zone_step
from steepwell.outlook.outlook import make_outlook
from steepwell.outlook.record import read_record
from steepwell.outlook.state import BedNow, ButtNow, State, SteepNow

if TYPE_CHECKING:
    from collections.abc import Callable

    from steepwell.garden.garden import Garden

MEMBERS, DAYS, BEDS, BUTTS, VESSELS = 1000, 120, 12, 6, 8
BED_DAYS = MEMBERS * DAYS * BEDS
NOW = datetime(2026, 6, 15, 4, 30, tzinfo=UTC)
MOST_NS = 50.0


def measure(scale: Scale) -> list[Figure]:
    """Return the outlook's row, from state to JSON text."""
    rounds = 7 if scale.quick else 15
    found = child("tests.bench.outlook", rounds)
    outlook = Figure("", "ns", tuple(found["outlook"]))
    balance = Figure("", "ns", tuple(found["balance"]))
    times = outlook.median / balance.median
    note = f"{times:.1f} x the bare balance ({balance.median:.1f} ns); one core, CPU time"
    return [Figure("outlook, a bed-day", "ns", outlook.values, most=MOST_NS, note=note)]


def state_of(garden: Garden) -> State:
    """Return a garden in June: butts rather full, beds moist, steeps a few days old."""
    return State(
        NOW,
        NOW.date(),
        0.0,
        (0.0,) * len(garden.bed),
        (0.0,) * len(garden.bed),
        tuple(ButtNow(butt.name, 200.0, NOW) for butt in garden.butt),
        tuple(BedNow(bed.name, 10.0, 60.0, 25.0, bed.crops[0].crop) for bed in garden.bed),
        tuple(
            SteepNow(vessel.name, 15.0, NOW - timedelta(days=5), 4.0, 50.0, 0.0, ("comfrey",))
            for vessel in garden.vessel
        ),
    )


def bare_balance() -> None:
    """Carry as many beds through as many days, and nothing else."""
    depletion = np.full((BEDS, MEMBERS), 10.0)
    rain, etc = np.full((1, MEMBERS), 1.5), np.full((BEDS, MEMBERS), 3.0)
    taw, raw = np.full((BEDS, 1), 60.0), np.full((BEDS, 1), 25.0)
    for _ in range(DAYS):
        depletion, _, _ = root_zone_step(
            depletion, rain_mm=rain, irrigation_mm=0.0, etc_mm=etc, taw_mm=taw, raw_mm=raw
        )


def ns_a_bed_day(work: Callable[[], object]) -> float:
    """Return the time that a piece of work takes the core, by the bed-day."""
    start = time.process_time_ns()
    work()
    return (time.process_time_ns() - start) / BED_DAYS


def main() -> None:
    """Take turns at both, on one core, once they have been done before."""
    os.sched_setaffinity(0, {max(os.sched_getaffinity(0))})
    record = read_record(fetch()[0])
    with tempfile.TemporaryDirectory() as folder:
        garden = garden_in(Path(folder), garden_text(beds=BEDS, butts=BUTTS, vessels=VESSELS))
    state = state_of(garden)

    def outlook() -> str:
        made = make_outlook(garden, state, record, [], seed=1, days=DAYS, members=MEMBERS)
        return json.dumps(made.document)

    outlook()
    bare_balance()
    found: dict[str, list[float]] = {"outlook": [], "balance": []}
    for _ in range(int(sys.argv[1])):
        found["outlook"].append(ns_a_bed_day(outlook))
        found["balance"].append(ns_a_bed_day(bare_balance))
    sys.stdout.write(json.dumps(found))


if __name__ == "__main__":
    main()
