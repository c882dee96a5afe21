"""How much mulch a lawn gives."""

from __future__ import annotations

from typing import TYPE_CHECKING

from steepwell.garden.days import local_day
from steepwell.store.entries import Mulched

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from steepwell.garden.garden import Garden
    from steepwell.store.entries import Entry

MATERIAL = "grass-clippings"
# Fresh clippings of a lawn that is neither fed nor watered, January of the northern half
# first; a year of it comes to about 12 L/m², or 3 kg. From memory [L/m² a week].
GROWS_L_M2_WEEK = (0.0, 0.0, 0.1, 0.3, 0.5, 0.45, 0.35, 0.3, 0.3, 0.2, 0.1, 0.0)
# The lawn is cut every week or two; what was cut before has gone elsewhere.
GROWN_D = 14
# After so many days without 1 mm of rain a lawn is brown and does not grow; from memory.
BROWN_AFTER_D = 21
# The box of a mower; common practice, no source [L].
BOX_L = 40.0
WEEK_D = 7


def clippings_l(
    garden: Garden, entries: Sequence[Entry], today: date, dry_d: int | None
) -> float | None:
    """Return the clippings to be had from a lawn now.

    Parameters
    ----------
    garden
        The garden.
    entries
        The journal, for when clippings were last laid.
    today
        The local day.
    dry_d
        Days in a row without 1 mm of rain; None where that is not known, and then the lawn is
        taken to be green [d].

    Returns
    -------
    float or None
        Fresh clippings, loose; nothing of a brown lawn, nor of one that is treated; None where the
        garden file names no lawn [L].
    """
    if garden.lawn is None:
        return None
    if garden.lawn.treated or (dry_d is not None and dry_d >= BROWN_AFTER_D):
        return 0.0
    used = [
        (today - local_day(garden, entry.at)).days
        for entry in entries
        if isinstance(entry, Mulched) and entry.material == MATERIAL
    ]
    grown_d = min([GROWN_D, *used])
    grows_l_m2 = GROWS_L_M2_WEEK[garden.garden.northern_month(today) - 1]
    return garden.lawn.area * grows_l_m2 * grown_d / WEEK_D
