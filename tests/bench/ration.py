"""Measures the ration of a large garden in a dry June: from the weather's members to its lines."""

from __future__ import annotations

import json
import os
import resource
import sys
import tempfile
import time
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
from tests.bench.figures import Figure, Scale, child
from tests.bench.garden import garden_in, garden_text
from tests.records import fetch

from steepwell.decide.ration import ration
from steepwell.outlook.outlook import make_outlook
from steepwell.outlook.record import read_record
from steepwell.outlook.state import BedNow, ButtNow, State

BEDS, BUTTS, DAYS = 20, 6, 112
NOW = datetime(2026, 6, 15, 4, 30, tzinfo=UTC)
MOST_S, MOST_MB = 0.7, 200.0
IN_EACH_BUTT_L = 60.0


def measure(scale: Scale) -> list[Figure]:
    """Return the rows of the ration: seconds, and the peak of the process that makes it."""
    found = [child("tests.bench.ration", 3 if scale.quick else 7) for _ in range(scale.runs)]
    seconds = tuple(s for each in found for s in each["seconds"])
    note = f"50 futures, {DAYS // 7} weeks, {BEDS} beds; one core, CPU time"
    return [
        Figure("ration, with assembly", "s", seconds, most=MOST_S, note=note),
        Figure("ration, peak", "MB", tuple(each["peak_mb"] for each in found), most=MOST_MB),
    ]


def main() -> None:
    """Share out the same water several times, on one core."""
    os.sched_setaffinity(0, {max(os.sched_getaffinity(0))})
    with tempfile.TemporaryDirectory() as folder:
        garden = garden_in(Path(folder), garden_text(beds=BEDS, butts=BUTTS, vessels=1))
    state = State(
        NOW,
        NOW.date(),
        0.0,
        (0.0,) * BEDS,
        (0.0,) * BEDS,
        tuple(ButtNow(butt.name, IN_EACH_BUTT_L, NOW) for butt in garden.butt),
        tuple(
            BedNow(bed.name, 10.0 + number, 60.0, 25.0, bed.crops[0].crop)
            for number, bed in enumerate(garden.bed)
        ),
        (),
    )
    record = read_record(fetch()[0])
    garden = garden.model_copy(update={"vessel": ()})
    outlook = make_outlook(garden, state, record, [], seed=1, days=DAYS, members=50)
    medians = np.median(outlook.futures.bed_wanted_l, axis=1).tolist()
    wanted_l = {bed.name: litres for bed, litres in zip(garden.bed, medians, strict=True)}
    seconds = []
    for _ in range(int(sys.argv[1])):
        start = time.process_time()
        ration(garden, state, outlook, [], wanted_l)
        seconds.append(time.process_time() - start)
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024 / 1e6
    sys.stdout.write(json.dumps({"seconds": seconds, "peak_mb": peak_mb}))


if __name__ == "__main__":
    main()
