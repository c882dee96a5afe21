"""How much of a bed mulch covers day by day, as it rots away and is laid anew."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from steepwell.garden.days import local_day
from steepwell.garden.tables import reference_tables
from steepwell.store.entries import Mulched

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from steepwell.garden.garden import Garden
    from steepwell.garden.growing import Bed
    from steepwell.store.entries import Entry

MM_A_METRE = 1000.0

Days = NDArray[np.float64]


def mulch_cover(
    garden: Garden, bed: Bed, first: date, count: int, entries: Sequence[Entry]
) -> Days:
    """Return the share of a bed's soil that mulch covers.

    What the garden file says is kept up, and stays. What the journal says was laid wears thin, by
    half in every half-life of its material; thinner than it takes to cover the soil, it covers in
    proportion. Layers add up, to no more than the widest of them.

    Parameters
    ----------
    garden
        The garden, for its time zone.
    bed
        The bed as declared.
    first
        The first day.
    count
        How many days [d].
    entries
        The journal; entries of other beds are passed over.

    Returns
    -------
    array
        From 0 to 1 for each day, from the day on which mulch was laid [-].
    """
    kept_up, widest, laid = np.zeros(count), np.zeros(count), np.zeros(count)
    if bed.mulch is not None:
        enough_mm = reference_tables().mulch(bed.mulch.material).covers_mm
        depth_mm = enough_mm if bed.mulch.depth is None else bed.mulch.depth * MM_A_METRE
        kept_up[:] = bed.mulch.cover * min(depth_mm / enough_mm, 1.0)
    for entry in entries:
        if not isinstance(entry, Mulched) or entry.bed != bed.name:
            continue
        material = reference_tables().mulch(entry.material)
        age_d = np.arange(count) - (local_day(garden, entry.at) - first).days
        lies = age_d >= 0
        left_mm = entry.depth_mm * 0.5 ** (np.maximum(age_d, 0) / material.half_life_d)
        laid += lies * entry.cover * left_mm / material.covers_mm
        widest = np.maximum(widest, lies * entry.cover)
    cover: Days = np.maximum(kept_up, np.minimum(laid, widest))
    return cover
