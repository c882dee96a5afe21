"""Measures durable ingest against the bare client, through Mosquitto, by what ``ingest`` prints."""

from __future__ import annotations

import re
import subprocess
import sys

from tests.bench.figures import ROOT, Figure, Scale, environment

MESSAGES, FEWER_MESSAGES = 60_000, 20_000
LEAST_RATIO = 0.75
PACKED, IN_A_PACK, MOST_PACKED_S = 2_100_000, 12, 60.0


def measure(scale: Scale) -> list[Figure]:
    """Return the ratio of both rates on the same backlog, and the time for packs of readings."""
    messages = FEWER_MESSAGES if scale.quick else MESSAGES
    runs = [_run(messages) for _ in range(scale.runs)]
    ratios = tuple(durable / bare for bare, durable in runs)
    bare, durable = sorted(runs, key=lambda run: run[1] / run[0])[len(runs) // 2]
    note = f"{durable:,.0f} against {bare:,.0f} a second, {messages:,} waiting"
    packs = messages // 3
    packed_s = tuple(PACKED / IN_A_PACK / _run(packs, "--packs")[1] for _ in range(scale.runs))
    return [
        Figure("durable ingest / bare client", "x", ratios, least=LEAST_RATIO, note=note),
        Figure(
            "2.1 million readings in packs of 12",
            "s",
            packed_s,
            most=MOST_PACKED_S,
            note=f"through Mosquitto; scaled from {packs:,} packs",
        ),
    ]


def _run(messages: int, *words: str) -> tuple[float, float]:
    """Return the rates of the bare client and of durable ingest [1/s]."""
    command = [sys.executable, "-m", "tests.bench.ingest", "--messages", str(messages), *words]
    done = subprocess.run(
        command, check=True, stdout=subprocess.PIPE, text=True, cwd=ROOT, env=environment()
    )
    bare, durable = re.findall(r"([\d.]+) messages/s", done.stdout)
    return float(bare), float(durable)
