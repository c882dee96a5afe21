"""What local orders bar, as the journal has it, and what that leaves of a garden."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from steepwell.garden.water import Tap
from steepwell.store.dated import barred
from steepwell.words.saying import say

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from steepwell.decide.watering import Watering
    from steepwell.garden.garden import Garden
    from steepwell.store.entries import Entry

# Either leaves no tap water for beds.
NO_TAP = frozenset({"tap", "watering"})


def under_orders(garden: Garden, entries: Sequence[Entry], day: date) -> Garden:
    """Return a garden as orders leave it: without tap water while that is barred.

    Parameters
    ----------
    garden
        The garden as declared.
    entries
        The journal.
    day
        The local day.

    Returns
    -------
    Garden
        The same one if nothing of it is barred.
    """
    if barred(entries, day) & NO_TAP and garden.tap.available != "no":
        return garden.model_copy(update={"tap": Tap(available="no")})
    return garden


def without_watering(lines: Sequence[Watering]) -> list[Watering]:
    """Return the lines of a plan where no bed may be watered, whatever with."""
    return [
        replace(
            line,
            cans=0.0,
            litres=0.0,
            days=(),
            butt=None,
            daily_l=None,
            stop=False,
            reason=say("orders.barred"),
        )
        for line in lines
    ]
