"""Measures the replay of a season, from the command to its summary."""

from __future__ import annotations

import subprocess
import tempfile
import time
from datetime import date, timedelta
from pathlib import Path

from tests.bench.figures import ROOT, Figure, Scale, environment, installed
from tests.bench.garden import garden_in, garden_text
from tests.records import fetch

FIRST = date(1995, 5, 1)
SEASON_D, FEWER_D = 150, 15
MOST_S = 90.0


def measure(scale: Scale) -> list[Figure]:
    """Return the seconds that a season takes."""
    days = FEWER_D if scale.quick else SEASON_D
    seconds = _replay(days)
    note = f"{days} days, 12 beds, 20 sensors; weekly gardener"
    if days != SEASON_D:
        seconds *= SEASON_D / days
        note = f"{SEASON_D // days} x the time for {note}; start-up counted as often"
    return [Figure("replay of a season", "s", (seconds,), most=MOST_S, note=note)]


def _replay(days: int) -> float:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        garden_in(folder, garden_text(butts=8, vessels=10, port=1883, with_sensors=True))
        command = [installed("steepwell-sim"), "replay", str(folder / "garden.toml")]
        command += ["--weather", str(fetch()[0]), "--out", str(folder / "out")]
        command += ["--from", str(FIRST), "--to", str(FIRST + timedelta(days=days - 1))]
        start = time.perf_counter()
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL, cwd=ROOT, env=environment())
        return time.perf_counter() - start
