"""Why something would help while water is short, in half a sentence."""

from __future__ import annotations

from typing import TYPE_CHECKING

from steepwell.decide.priority import stop_words
from steepwell.outlook.calendar import standing_on

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from steepwell.garden.garden import Garden
    from steepwell.garden.growing import Bed
    from steepwell.outlook.state import BedNow
    from steepwell.store.entries import Entry

OPEN_FROM, CLOSED_BELOW = 0.5, 0.25
WHOLE = 0.95
SHADE_WORDS = (
    "under netting that takes about a third of the light; what fruits there ripens later for it"
)


def mulch_words(exposed: float, now: BedNow, *, cover: float, takes_l: float | None) -> str:
    """Return what mulch would do for a bed.

    Parameters
    ----------
    exposed
        Share of the ground that the leaves leave open to the sun [-].
    now
        How dry the bed is.
    cover
        Share of it that there is mulch for [-].
    takes_l
        Clippings that it takes, where nobody said how much the lawn gives [L].

    Returns
    -------
    str
        For instance "the rows are open and the soil is moist".
    """
    if exposed >= OPEN_FROM:
        told = "the rows are open"
    elif exposed >= CLOSED_BELOW:
        told = "the leaves leave some of the ground open"
    else:
        told = "the leaves shade most of the ground already, so that mulch saves little"
    is_moist = now.depletion_mm <= now.raw_mm / 2
    told += (
        " and the soil is moist" if is_moist else "; water it first, for mulch keeps dry soil dry"
    )
    if cover < WHOLE:
        told += f"; the lawn has grown enough for about {round(100 * cover, -1):.0f} % of it"
    if takes_l is not None:
        told += f"; it takes about {round(takes_l, -1):.0f} L of clippings"
    return told


def stop_reason(garden: Garden, bed: Bed, today: date, entries: Sequence[Entry]) -> str:
    """Return what it means for a bed to be left dry."""
    standing = standing_on(garden, bed, today, entries)
    told = stop_words(standing, today) if standing is not None else None
    return told or "its crop suffers for it, so only if you can do without"


def tap_words(cans: int) -> str:
    """Return what cans from the tap would do."""
    many = "1 can bridges" if cans == 1 else f"{cans} cans bridge"
    return f"{many} the next two weeks; on the soil, and for beds it needs no standing"
