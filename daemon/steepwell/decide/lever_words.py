"""Why something would help while water is short, in half a sentence."""

from __future__ import annotations

from typing import TYPE_CHECKING

from steepwell.decide.priority import stop_words
from steepwell.outlook.calendar import standing_on
from steepwell.words.figures import strung
from steepwell.words.saying import say, say_count

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from steepwell.garden.garden import Garden
    from steepwell.garden.growing import Bed
    from steepwell.outlook.state import BedNow
    from steepwell.store.entries import Entry

OPEN_FROM, CLOSED_BELOW = 0.5, 0.25
WHOLE = 0.95


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
        ground = say("levers.rows-open")
    elif exposed >= CLOSED_BELOW:
        ground = say("levers.partly-open")
    else:
        ground = say("levers.closed")
    is_moist = now.depletion_mm <= now.raw_mm / 2
    told = [say("levers.soil-moist" if is_moist else "levers.soil-dry", ground=ground)]
    if cover < WHOLE:
        told.append(say("levers.lawn-gives", percent=f"{round(100 * cover, -1):.0f}"))
    if takes_l is not None:
        told.append(say("levers.mulch-takes", litres=f"{round(takes_l, -1):.0f}"))
    return strung(told)


def stop_reason(garden: Garden, bed: Bed, today: date, entries: Sequence[Entry]) -> str:
    """Return what it means for a bed to be left dry."""
    standing = standing_on(garden, bed, today, entries)
    told = stop_words(standing, today) if standing is not None else None
    return told or say("levers.stop")


def tap_words(cans: int) -> str:
    """Return what cans from the tap would do."""
    return say_count("levers.tap", cans)
