"""Measures ``steepwell size`` as a person gives it, on a garden with thirty years of weather."""

from __future__ import annotations

import shutil
import subprocess
import tempfile
import time
from pathlib import Path

from tests.bench.figures import Figure, Scale, environment, installed
from tests.records import fetch

from steepwell.garden.tables import config_dir

GARDEN = "middle.toml"
MOST_S = 3.0


def measure(scale: Scale) -> list[Figure]:
    """Return the row of sizing, from the first to the last of the command."""
    with tempfile.TemporaryDirectory() as folder:
        garden = Path(folder) / GARDEN
        shutil.copy(config_dir() / "gardens" / GARDEN, garden)
        shutil.copy(fetch()[0], garden.with_name("record.csv"))
        seconds = tuple(_take_s(garden) for _ in range(scale.runs))
    note = "30 years x 5 variants, the whole command"
    return [Figure("size", "s", seconds, most=MOST_S, note=note)]


def _take_s(garden: Path) -> float:
    start = time.perf_counter()
    subprocess.run(
        [installed("steepwell"), "size", str(garden)],
        check=True,
        stdout=subprocess.DEVNULL,
        env=environment(),
    )
    return time.perf_counter() - start
