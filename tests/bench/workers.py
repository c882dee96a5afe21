"""Measures the processes that make an outlook and a letter: their peak of memory, their time."""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
import time
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tests.bench.figures import ROOT, Figure, Scale, environment, memory_mb
from tests.bench.garden import garden_in, garden_text
from tests.records import fetch

from steepwell.store.store import garden_store_url, open_store

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden

NOW = datetime(2026, 6, 19, 15, 0, tzinfo=UTC)
MOST_LETTER_MB = 280.0
TOLD = """
[told.mail]
server = "127.0.0.1"
sender = "steepwell@example.org"

[[told.people]]
name = "rowan"
mail = "rowan@example.org"
"""


def measure(scale: Scale) -> list[Figure]:
    """Return peaks and times of fresh workers."""
    with tempfile.TemporaryDirectory() as folder:
        text = garden_text(record=fetch()[0], with_sensors=True) + TOLD
        garden = garden_in(Path(folder), text)
        with open_store(garden_store_url(garden), garden) as store:
            outlooks = [_ask(garden, "outlook") for _ in range(scale.runs)]
            for kind in ("outlook", "plan"):
                store.results.save(kind, NOW, outlooks[0][0][kind])
            letters = [_ask(garden, "letter") for _ in range(scale.runs)]
    if not letters[0][0]["letters"]:
        raise AssertionError("the worker made no letter")
    return [
        _peak("letter, peak of its worker", letters, most=MOST_LETTER_MB),
        _peak("outlook, peak of its worker", outlooks),
        _seconds("letter, from request to answer", letters),
        _seconds("outlook, from request to answer", outlooks),
    ]


Answer = tuple[dict[str, Any], float, float]


def _peak(what: str, answers: list[Answer], most: float | None = None) -> Figure:
    return Figure(what, "MB", tuple(peak for _, peak, _ in answers), most=most)


def _seconds(what: str, answers: list[Answer]) -> Figure:
    return Figure(what, "s", tuple(took for _, _, took in answers), note="start of Python included")


def _ask(garden: Garden, task: str) -> Answer:
    """Return what a fresh worker answers, the most memory it held [MB] and its time [s]."""
    request = {"task": task, "garden": garden.to_json(), "now": NOW.isoformat(), "seed": 1}
    start = time.perf_counter()
    worker = subprocess.Popen(
        [sys.executable, "-m", "steepwell.worker"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        cwd=ROOT,
        env=environment(),
    )
    with worker:
        assert worker.stdin is not None
        assert worker.stdout is not None
        worker.stdin.write(json.dumps(request) + "\n")
        worker.stdin.flush()
        answer = json.loads(worker.stdout.readline())
        seconds = time.perf_counter() - start
        peak_mb = memory_mb(worker.pid, "VmHWM")
    if "error" in answer:
        raise AssertionError(answer["error"])
    return answer, peak_mb, seconds
