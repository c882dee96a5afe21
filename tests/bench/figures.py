"""What is measured: figures with their marks, and the processes that measure them."""

from __future__ import annotations

import json
import os
import statistics
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]


@dataclass(frozen=True, slots=True)
class Scale:
    """How much is measured: fewer runs of shorter work, the usual, or all of the longest work."""

    quick: bool = False
    full: bool = False

    @property
    def runs(self) -> int:
        """How often most figures are taken."""
        return 1 if self.quick else 3


@dataclass(frozen=True, slots=True)
class Figure:
    """One row of the table.

    Attributes
    ----------
    what, unit
        What was measured.
    values
        One a run.
    most, least
        The mark, if there is one: no more than this, or no less.
    note
        How it compares with a peer, or what must be known to read it.
    """

    what: str
    unit: str
    values: tuple[float, ...]
    most: float | None = None
    least: float | None = None
    note: str = ""

    @property
    def median(self) -> float:
        """The figure that counts."""
        return statistics.median(self.values)

    @property
    def is_missed(self) -> bool:
        """Whether the mark is missed."""
        return (self.most is not None and self.median > self.most) or (
            self.least is not None and self.median < self.least
        )


class UnmeasuredError(Exception):
    """Something cannot be measured here; the message says why."""


Row = Callable[[Scale], list[Figure]]


def environment() -> dict[str, str]:
    """Return the environment of a process that measures: one thread for all its arithmetic."""
    return {**os.environ, "OPENBLAS_NUM_THREADS": "1"}


def installed(command: str) -> str:
    """Return the path of a command of this environment."""
    return str(Path(sys.executable).with_name(command))


def child(module: str, *words: object, given: str = "") -> Any:  # noqa: ANN401 - JSON
    """Run a module in a fresh process and return the JSON that it prints."""
    command = [sys.executable, "-m", module, *map(str, words)]
    done = subprocess.run(
        command,
        check=True,
        stdout=subprocess.PIPE,
        text=True,
        input=given,
        cwd=ROOT,
        env=environment(),
    )
    return json.loads(done.stdout)


def core_s(pid: int, *, children: bool = False) -> float:
    """Return the time a process has had a core so far, perhaps with children that ended [s]."""
    fields = Path(f"/proc/{pid}/stat").read_text(encoding="ascii").rpartition(")")[2].split()
    ticks = sum(int(field) for field in fields[11 : 15 if children else 13])
    return ticks / os.sysconf("SC_CLK_TCK")


def memory_mb(pid: int, key: str) -> float:
    """Return what the kernel says of the memory of a process: Pss, VmRSS, VmHWM [MB]."""
    file = "smaps_rollup" if key == "Pss" else "status"
    for line in Path(f"/proc/{pid}/{file}").read_text(encoding="ascii").splitlines():
        name, _, amount = line.partition(":")
        if name == key:
            return int(amount.split()[0]) * 1024 / 1e6
    raise UnmeasuredError(f"/proc/{pid}/{file} says nothing of {key}")
