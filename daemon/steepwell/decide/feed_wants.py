"""What the programme of the feed is asked, without the choices that need no look."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Flags = NDArray[np.bool_]
Whole = NDArray[np.int_]
Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Wants:
    """What may be fed from what, and when. A source is a vessel at one dilution.

    Attributes
    ----------
    may
        Whether a bed may be fed from a source on a day; (beds, sources, days).
    rank
        How well they suit, 0 for the bed's own crop, more for less; (beds, sources).
    tier
        Beds of a higher tier come first; (beds,).
    waited_d
        How long a bed has been due; (beds,) [d].
    feed_l, water_l
        What it takes of the source, and of the rainwater to spare; (beds, sources) [L].
    vessel
        Which vessel each source is; (sources,).
    there_l
        Liquid that may be drawn from each vessel; (vessels,) [L].
    spare_l
        Rainwater to spare [L].
    """

    may: Flags
    rank: Whole
    tier: Whole
    waited_d: Whole
    feed_l: Array
    water_l: Array
    vessel: Whole
    there_l: Array
    spare_l: float


def worth_a_look(wants: Wants, *, any_day: bool) -> Flags:
    """Return what may be fed from what, without that for which another choice always does.

    A day does for another one if it is earlier, or any day is as good; a source for another one if
    there is enough of it for all.
    """
    may = wants.may.copy()
    takes_l = np.where(may.any(axis=2), wants.feed_l, 0.0)
    most_l = [takes_l[:, wants.vessel == v].sum() for v in range(len(wants.there_l))]
    ample = (wants.there_l >= np.array(most_l))[wants.vessel]
    for one in _needless(_source_does(wants) & ample[:, None]):
        may[:, one] = False
    days = may.shape[2]
    in_order = np.ones((days, days), dtype=bool) if any_day else np.tri(days, k=-1, dtype=bool).T
    for source in np.flatnonzero(may.any(axis=(0, 2))):
        of_it = may[:, source]
        does = ~(~of_it[:, :, None] & of_it[:, None, :]).any(axis=0) & in_order
        for day in _needless(does):
            may[:, source, day] = False
    return may


def _source_does(wants: Wants) -> Flags:
    """Return whether a source does for every bed what another one does, no worse.

    (sources, sources), the one that does in front.
    """
    may, rank, water_l = wants.may, wants.rank, wants.water_l
    lacks = (~may[:, :, None] & may[:, None]).any(axis=(0, 3))
    worse = (rank[:, :, None] > rank[:, None]) | (water_l[:, :, None] > water_l[:, None])
    served = np.asarray(may.any(axis=2))[:, None]
    return np.asarray(~(lacks | (worse & served).any(axis=0)))


def _needless(does: Flags) -> list[int]:
    """Return what others do for, one by one, so that of two that do for each other one stays."""
    left = np.ones(len(does), dtype=bool)
    needless = []
    for one in range(len(does)):
        others = does[:, one] & left
        others[one] = False
        if others.any():
            left[one] = False
            needless.append(one)
    return needless


def alike(wants: Wants, may: Flags) -> Whole:
    """Return a number for each bed, the same for those between which only their waits tell."""
    each = [may.reshape(len(wants.tier), -1), wants.rank, wants.tier[:, None]]
    told = np.concatenate([*each, wants.feed_l, wants.water_l], axis=1)
    _, numbers = np.unique(told, axis=0, return_inverse=True)
    return np.asarray(numbers).reshape(-1)
