"""The loop closed: who does what the plans say, beside others, through the driest summers.

The follower has the real daemon: broker, messages, store, plans. Thinned so that all of it is done
in about an hour: sensors report every hour, for the air of a day counts only if it was heard in
twenty of its hours, and plans are made every other day. What the other gardeners do depends on
nothing that the daemon says, so they live through the same simulated garden without one, and lose
what they would lose with it. Perfect foresight is the same ration, made every day, by somebody who
knows how dry the soil truly is and what weather will come.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from tests.hindcast.foresight import Foresight
from tests.hindcast.summers import SEED, SITES, Summer, driest, lived_through
from tests.hindcast.tables import MISSED, as_markdown, as_text

from steepwell.garden.tables import config_dir

if TYPE_CHECKING:
    from collections.abc import Sequence

EVERY_MIN, OUTLOOK_EVERY_D = 60, 2
AT_A_TIME = 2
TASTE_UNTIL = (5, 29)
TIME_LIMIT_S = 900
# Most that the follower may lose, as a share of what each of the others loses.
OTHERS = ("ignores", "weekly", "foresight")
MARKS = {
    "small": (0.87, 0.82, 1.15),
    "middle": (0.80, 0.72, 1.20),
    "large": (0.75, 0.50, 1.40),
}
# By how much of the yield a summer may be worse than one of pouring until nothing is left.
WORSE_BY = 0.02


@dataclass(frozen=True, slots=True)
class Lost:
    """What each gardener lost in one summer, as a share of the yield.

    Attributes
    ----------
    garden
        Which garden.
    summer
        Which summer.
    follows, ignores, weekly, foresight
        The weighted loss of each [-].
    """

    garden: str
    summer: Summer
    follows: float
    ignores: float
    weekly: float
    foresight: float


def closed_loop(*, quick: bool, markdown: bool = False) -> list[Lost]:
    """Let every garden live through the driest summers, and print what was lost.

    Parameters
    ----------
    quick
        One garden, the first weeks of one summer, for a taste.
    markdown
        Whether the tables are for a document.

    Returns
    -------
    list of Lost
        One for each garden and summer.
    """
    asked = _asked(quick=quick)
    os.environ["OPENBLAS_NUM_THREADS"] = "1"
    found = []
    with ProcessPoolExecutor(AT_A_TIME) as pool:
        for lost in pool.map(lost_in, *zip(*asked, strict=True)):
            found.append(lost)
            sys.stderr.write(f"{len(found)} of {len(asked)}: {' '.join(_summer_row(lost))}\n")
    found.sort(key=lambda lost: (list(MARKS).index(lost.garden), lost.summer.place))
    table = as_markdown if markdown else as_text
    sys.stdout.write(table(_summer_heads(), [_summer_row(lost) for lost in found]) + "\n\n")
    sys.stdout.write(table(_total_heads(), _total_rows(found, quick=quick)) + "\n")
    sys.stdout.flush()
    return found


def _asked(*, quick: bool) -> list[tuple[str, Summer]]:
    """Return the gardens and their summers."""
    if quick:
        return [("small", replace(driest("cambridge")[1], until=TASTE_UNTIL))]
    # The driest of both places first, in every garden: a campaign that is cut short tells most so.
    ranked = zip(*(driest(place) for place in SITES), strict=True)
    return [(garden, summer) for summers in ranked for summer in summers for garden in MARKS]


def lost_in(name: str, summer: Summer) -> Lost:
    """Let all gardeners live through a summer.

    Parameters
    ----------
    name
        The garden.
    summer
        The summer.

    Returns
    -------
    Lost
        What each of them lost.
    """
    garden = summer.garden(name)
    return Lost(
        name,
        summer,
        follows=replayed(name, summer),
        ignores=lived_through(garden, summer, "ignores"),
        weekly=lived_through(garden, summer, "weekly"),
        foresight=lived_through(garden, summer, "follows", Foresight(garden, summer).plan_on),
    )


def replayed(
    name: str,
    summer: Summer,
    gardener: str = "follows",
    *,
    outlook_every_d: int = OUTLOOK_EVERY_D,
) -> float:
    """Return what a gardener loses with the real daemon.

    Parameters
    ----------
    name
        The garden.
    summer
        The summer.
    gardener
        How beds are watered.
    outlook_every_d
        Every how many days plans are made [d].

    Returns
    -------
    float
        The weighted loss [-].
    """
    site = SITES[summer.place]
    with tempfile.TemporaryDirectory() as out:
        command = [
            *(sys.executable, "-m", "steepwell_sim", "replay"),
            str(config_dir() / "gardens" / f"{name}.toml"),
            *("--weather", str(summer.record)),
            *("--from", summer.first.isoformat(), "--to", summer.last.isoformat()),
            *("--gardener", gardener, "--seed", f"{SEED}"),
            *("--every", f"{EVERY_MIN}", "--outlook-every", f"{outlook_every_d}"),
            f"--site={site.latitude},{site.longitude},{site.elevation_m}",
            *("--out", out),
        ]
        ended = subprocess.run(
            command, capture_output=True, text=True, timeout=TIME_LIMIT_S, check=False
        )
        if ended.returncode:
            raise RuntimeError(f"the {name} garden in {summer.year}: {ended.stderr}")
        summary = json.loads((Path(out) / "summary.json").read_text(encoding="utf-8"))
    return float(summary["weighted_loss"])


def _summer_heads() -> list[str]:
    return ["garden", "record", "summer", "rain", "follows", *OTHERS]


def _summer_row(lost: Lost) -> list[str]:
    too_much = lost.follows > lost.ignores + WORSE_BY
    return [
        lost.garden,
        lost.summer.place.capitalize(),
        f"{lost.summer.year}",
        f"{lost.summer.rain_mm:.0f} mm",
        f"{lost.follows:.3f}{MISSED if too_much else ''}",
        *(f"{getattr(lost, other):.3f}" for other in OTHERS),
    ]


def _total_heads() -> list[str]:
    return [
        "garden",
        "lost by the follower in all",
        *(f"of what is lost by {other}" for other in OTHERS),
        f"worst summer against ignores (at most {WORSE_BY:+.2f})",
    ]


def _total_rows(found: Sequence[Lost], *, quick: bool) -> list[list[str]]:
    rows = []
    for garden, marks in MARKS.items():
        here = [lost for lost in found if lost.garden == garden]
        if not here:
            continue
        follows = sum(lost.follows for lost in here)
        shares = [follows / sum(getattr(lost, other) for lost in here) for other in OTHERS]
        worst = max(lost.follows - lost.ignores for lost in here)
        told = [
            f"{share:.2f} (at most {mark:.2f}){MISSED if share > mark and not quick else ''}"
            for share, mark in zip(shares, marks, strict=True)
        ]
        missed = MISSED if worst > WORSE_BY and not quick else ""
        rows.append([garden, f"{follows:.2f}", *told, f"{worst:+.3f}{missed}"])
    return rows
