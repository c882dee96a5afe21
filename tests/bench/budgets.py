"""Prints what the program takes, each figure beside its mark."""

from __future__ import annotations

import argparse
import os
import sys
import time
from typing import TYPE_CHECKING

from tests.bench import backlog, day, feed, idle, outlook, payloads, ration, season, size, workers
from tests.bench.figures import Figure, Row, Scale, UnmeasuredError

if TYPE_CHECKING:
    from collections.abc import Iterable

ROWS: dict[str, Row] = {
    "outlook": outlook.measure,
    "ration": ration.measure,
    "ingest": backlog.measure,
    "idle": idle.measure,
    "day": day.measure,
    "readings": payloads.measure,
    "letter": workers.measure,
    "feed": feed.measure,
    "size": size.measure,
    "replay": season.measure,
}
_WIDTHS = (40, 12, 9, 17)


def main() -> int:
    """Measure the rows asked for; 1 where one could not be measured."""
    options = _parser().parse_args()
    scale = Scale(quick=options.quick, full=options.full)
    _say(f"{_machine()}, before")
    _line(("what", "mark", "median", "least to most", ""))
    missed: list[Figure] = []
    unmeasured = False
    for name in options.rows or ROWS:
        try:
            figures = ROWS[name](scale)
        except UnmeasuredError as error:
            unmeasured = True
            _say(f"{name}: not measured: {error}")
            continue
        for figure in figures:
            _line(_columns(figure))
        missed += [figure for figure in figures if figure.is_missed]
    _say(f"{_machine()}, after")
    for figure in missed:
        _say(f"MISSED: {figure.what} is {_number(figure.median)} {figure.unit}, {_mark(figure)}")
    return int(unmeasured)


def _machine() -> str:
    """Return how busy the machine is, and how fast: others may share its cores."""
    start = time.perf_counter()
    sum(number for number in range(1_000_000))
    pace_ms = 1000 * (time.perf_counter() - start)
    load = f"load {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores"
    return f"{load}, a million additions in {pace_ms:.0f} ms"


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="tests/bench/run", description=__doc__)
    parser.add_argument("rows", nargs="*", metavar="ROW", help=f"one of {', '.join(ROWS)}")
    much = parser.add_mutually_exclusive_group()
    much.add_argument("--quick", action="store_true", help="fewer runs, shorter work")
    much.add_argument("--full", action="store_true", help="the longest work, nothing scaled up")
    return parser


def _columns(figure: Figure) -> tuple[str, ...]:
    spread = "one run"
    if len(figure.values) > 1:
        spread = f"{_number(min(figure.values))} to {_number(max(figure.values))}"
    return (
        figure.what,
        _mark(figure),
        f"{_number(figure.median)} {figure.unit}",
        spread,
        ("MISSED; " if figure.is_missed else "") + figure.note,
    )


def _mark(figure: Figure) -> str:
    if figure.most is not None:
        return f"at most {_number(figure.most)}"
    return "" if figure.least is None else f"at least {_number(figure.least)}"


def _number(value: float) -> str:
    return f"{value:.3g}" if abs(value) < 1000 else f"{value:,.0f}"


def _line(cells: Iterable[str]) -> None:
    *fixed, last = cells
    _say(
        "  ".join([*(f"{cell:<{width}}" for cell, width in zip(fixed, _WIDTHS, strict=True)), last])
    )


def _say(text: str) -> None:
    sys.stdout.write(text.rstrip() + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    sys.exit(main())
