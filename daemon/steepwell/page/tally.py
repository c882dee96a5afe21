"""Cans as a gardener tallies them: strokes with a pencil, every fifth across the four before it."""

from __future__ import annotations

from dataclasses import dataclass

FIVE = 5
STROKE_PX, GROUP_PX, EDGE_PX = 6, 32, 5
TOP, FOOT = 2, 16
# Beyond that many nobody counts strokes, and each stands for several cans.
MOST = 40
STEPS = (1, 2, 5, 10, 20, 50, 100)
# No two strokes of a hand are the same.
_LEAN = (0.6, -0.8, 1.2, -0.2, 0.9, -1.1, 0.3)


@dataclass(frozen=True, slots=True)
class Tally:
    """Strokes to be drawn: a path, how wide it is, and what a stroke stands for in cans."""

    path: str
    width: int
    each: int


def tally_of(cans: float) -> Tally | None:
    """Return the strokes for a number of cans, None for less than one.

    Parameters
    ----------
    cans
        How many [-].

    Returns
    -------
    Tally or None
        A stroke for each whole can, or for each two, five, ten ... where they are many.
    """
    each = next((step for step in STEPS if cans / step <= MOST), STEPS[-1])
    strokes = min(int(cans // each), MOST)
    if strokes == 0:
        return None
    path = "".join(_stroke(index) for index in range(strokes))
    groups, over = divmod(strokes, FIVE)
    width = EDGE_PX * 2 + groups * GROUP_PX + over * STROKE_PX
    return Tally(path, width, each)


def _stroke(index: int) -> str:
    group, place = divmod(index, FIVE)
    left = EDGE_PX + group * GROUP_PX
    lean = _LEAN[index % len(_LEAN)]
    if place == FIVE - 1:
        return f"M{left - 3} {FOOT - 3 + lean:.1f}L{left + 21} {TOP + 3 - lean:.1f}"
    at = left + place * STROKE_PX
    return f"M{at + lean:.1f} {TOP - lean / 2:.1f}L{at} {FOOT + lean / 2:.1f}"
