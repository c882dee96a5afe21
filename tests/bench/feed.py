"""Measures the feed plan of a large garden: from who is due to what each bed gets, proven."""

from __future__ import annotations

import json
import os
import sys
import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
from tests.bench.figures import Figure, Scale, child
from tests.bench.garden import garden_in, garden_text
from tests.gardens import told_by_age

from steepwell.decide.feeding import TIME_LIMIT_S, share_feed
from steepwell.outlook.state import BedNow, State, SteepNow

BEDS, VESSELS = 40, 12
NOW = datetime(2026, 7, 7, 4, 30, tzinfo=UTC)
DAY = timedelta(days=1)
MOST_S = 0.2
PLANTS = (
    "nettle",
    "comfrey",
    "tomato",
    "leek",
    "cabbage",
    "runner-bean",
    "courgette",
    "sweet-corn",
)


def measure(scale: Scale) -> list[Figure]:
    """Return the row of the feed plan: seconds for each of many weeks, and how many were proven."""
    found = [child("tests.bench.feed", run, 6 if scale.quick else 20) for run in range(scale.runs)]
    seconds = tuple(s for each in found for s in each["seconds"])
    # A search that is not stopped by its time limit has proven what it found.
    proven = sum(each < TIME_LIMIT_S for each in seconds)
    note = f"{BEDS} beds, {VESSELS} vessels; {proven} of {len(seconds)} proven the best"
    return [
        Figure("feed plan", "s", seconds, most=MOST_S, note=note),
        Figure("feed plan, slowest in 20", "s", (float(np.quantile(seconds, 0.95)),), most=MOST_S),
    ]


def main() -> None:
    """Plan the feed of several invented weeks, on one core; the first one loads SciPy."""
    os.sched_setaffinity(0, {max(os.sched_getaffinity(0))})
    with tempfile.TemporaryDirectory() as folder:
        garden = garden_in(Path(folder), garden_text(beds=BEDS, butts=2, vessels=VESSELS))
    rng = np.random.default_rng(int(sys.argv[1]))
    seconds = []
    for _ in range(1 + int(sys.argv[2])):
        state = State(
            NOW,
            NOW.date(),
            0.0,
            (0.0,) * BEDS,
            (0.0,) * BEDS,
            (),
            tuple(BedNow(bed.name, rng.uniform(0, 40), 60.0, 25.0, "leek") for bed in garden.bed),
            tuple(_steep(rng, vessel.name) for vessel in garden.vessel),
        )
        names = [bed.name for bed in garden.bed if rng.random() < 0.6]
        watered = {name: (NOW.date() + int(rng.integers(0, 5)) * DAY,) for name in names}
        start = time.perf_counter()
        share_feed(garden, state, [], watered=watered, spare_l=9.0 * rng.integers(0, 15))
        seconds.append(time.perf_counter() - start)
    sys.stdout.write(json.dumps({"seconds": seconds[1:]}))


def _steep(rng: np.random.Generator, vessel: str) -> SteepNow:
    age_d = float(rng.uniform(15, 500))
    litres = float(rng.choice([0.2, 0.5, 2.0, 30.0]))
    plants = (str(rng.choice(PLANTS)),)
    steep = SteepNow(vessel, 17.0, NOW - age_d * DAY, age_d, litres, 0.0, plants)
    return told_by_age(steep, NOW)


if __name__ == "__main__":
    main()
