"""Measures a daemon with little to do: memory, share of a core, and how soon it hears."""

from __future__ import annotations

import re
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import TYPE_CHECKING

from tests.bench.daemon import MINUTE_S, Bench, bench_in
from tests.bench.figures import ROOT, Figure, Scale, core_s, environment, memory_mb

if TYPE_CHECKING:
    from collections.abc import Iterable

MOST_MB = 80.0
MOST_TIMES_BARE = 1.25
MOST_PERCENT = 0.5
MOST_START_S = 2.0
MOST_FIRST_BYTE_MS = 50.0
LOOKS = 20
STARTS = 3
BARE = """
import contextlib, importlib, sys
for name in sys.stdin.readline().split():
    with contextlib.suppress(ImportError):
        importlib.import_module(name)
print(flush=True)
sys.stdin.read()
"""
IMPORTED = re.compile(r"^import time:[^|]*\|[^|]*\| *(\S+)", re.MULTILINE)


def measure(scale: Scale) -> list[Figure]:
    """Return memory and work of an idle daemon, and how soon after its start it has a reading."""
    with tempfile.TemporaryDirectory() as folder, bench_in(Path(folder)) as bench:
        first, first_cpu = _start(bench, retain=True)
        starts = [_start(bench) for _ in range(STARTS)]
        modules = _imported(bench)
        resident, shared, percent, first_bytes_ms = _idle(bench, scale.runs)
    bare = _bare_mb(modules)
    return [
        Figure(
            "idle daemon, resident",
            "MB",
            (resident,),
            most=MOST_MB,
            note="20 sensors; a minute after looks",
        ),
        Figure("idle daemon, proportional share", "MB", (shared,)),
        Figure(
            "idle daemon / bare process",
            "x",
            (resident / bare,),
            most=MOST_TIMES_BARE,
            note=f"{bare:.1f} MB with the same {len(modules)} modules, none of ours",
        ),
        Figure(
            "idle daemon, share of a core",
            "%",
            percent,
            most=MOST_PERCENT,
            note="one minute each, 20 messages",
        ),
        Figure(
            "page, first byte",
            "ms",
            first_bytes_ms,
            most=MOST_FIRST_BYTE_MS,
            note="after the first look of all",
        ),
        Figure(
            "start to first reading",
            "s",
            tuple(seconds for seconds, _ in starts),
            most=MOST_START_S,
            note=f"{min(cpu for _, cpu in starts):.2f} s of a core; the store is there",
        ),
        Figure(
            "first start of all to first reading",
            "s",
            (first,),
            note=f"{first_cpu:.2f} s of a core; makes the store",
        ),
    ]


def _start(bench: Bench, *, retain: bool = False) -> tuple[float, float]:
    """Return how long after its start the daemon has committed what waits for it.

    Also the time it had a core for until then [s].
    """
    before = bench.rows("reading")
    bench.speak(0, retain=retain)
    start = time.perf_counter()
    with bench.daemon() as process:
        bench.await_rows("reading", before)
        return time.perf_counter() - start, core_s(process.pid)


def _imported(bench: Bench) -> list[str]:
    """Return the modules that a daemon imports, but for the program's own, in their order."""
    before = bench.rows("reading")
    bench.speak(0)
    with bench.daemon("-X", "importtime"):
        bench.await_rows("reading", before)
        bench.speak_for(MINUTE_S / 10)
        bench.look()
    names = dict.fromkeys(IMPORTED.findall(bench.said()))
    return [name for name in names if name.split(".")[0] != "steepwell"]


def _idle(bench: Bench, minutes: int) -> tuple[float, float, tuple[float, ...], tuple[float, ...]]:
    """Return resident and proportional memory [MB], the share of a core [%], each minute's.

    Also when the first byte of the page came, each time somebody looked at it [ms].
    """
    outlooks = bench.rows("ledger WHERE job = 'outlook'")
    with bench.daemon() as process:
        if not outlooks:
            bench.await_rows("ledger WHERE job = 'outlook'")
        bench.speak_for(MINUTE_S / 4)
        percent = []
        for _ in range(minutes):
            before = core_s(process.pid)
            bench.speak_for(MINUTE_S)
            percent.append(100 * (core_s(process.pid) - before) / MINUTE_S)
        bench.look()
        first_bytes_ms = tuple(bench.look()[0] for _ in range(LOOKS))
        # At rest again: what the looks took for a moment is handed back within a minute.
        bench.speak_for(MINUTE_S)
        resident, shared = (memory_mb(process.pid, key) for key in ("VmRSS", "Pss"))
        return resident, shared, tuple(percent), first_bytes_ms


def _bare_mb(modules: Iterable[str]) -> float:
    """Return the memory of a process that has only imported these modules [MB]."""
    with subprocess.Popen(
        [sys.executable, "-c", BARE],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        cwd=ROOT,
        env=environment(),
    ) as process:
        assert process.stdin is not None
        assert process.stdout is not None
        process.stdin.write(" ".join(modules) + "\n")
        process.stdin.flush()
        process.stdout.readline()
        return memory_mb(process.pid, "VmRSS")
