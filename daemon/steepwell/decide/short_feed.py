"""Whether the feed in hand is enough for what beds will want in the weeks ahead."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from steepwell.decide.reserve import in_hand
from steepwell.decide.wanted_feed import wanted_feeds
from steepwell.model.dilution import dose_l

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.garden.garden import Garden
    from steepwell.outlook.state import State
    from steepwell.store.entries import Entry

# As far ahead as vessels are planned.
AHEAD_D = 42


@dataclass(frozen=True, slots=True)
class ShortFeed:
    """A family for which the feed in hand will not do.

    Attributes
    ----------
    family
        The family.
    there_l
        What is in hand of its own, and of what suits any bed [L].
    wanted_l
        What its beds will take of it [L].
    by
        The last day on which one of them is due.
    """

    family: str
    there_l: float
    wanted_l: float
    by: date


def short_feeds(garden: Garden, state: State, entries: Sequence[Entry]) -> list[ShortFeed]:
    """Return for which families the feed in hand is less than six weeks take.

    What suits any bed goes to those that are due first. Of a family for which there is nothing at
    all the beds are told as left out, and the start plan says what to begin.

    Parameters
    ----------
    garden
        The garden.
    state
        What is so now.
    entries
        The journal.

    Returns
    -------
    list of ShortFeed
        The one that is due first in front.
    """
    kept = in_hand(garden, state, entries)
    any_bed = [each for each in kept if not each.families]
    any_l = sum(each.litres for each in any_bed)
    end = state.today + timedelta(days=AHEAD_D)
    short = []
    for wanted in wanted_feeds(garden, entries, state.today, by_family=True):
        days = [day for day in wanted.feeds if day <= end]
        own = [each for each in kept if wanted.family in each.families]
        thickest = min((each.dilution_parts for each in [*own, *any_bed]), default=None)
        if not days or thickest is None:
            continue
        own_l = sum(each.litres for each in own)
        takes_l = len(days) * float(dose_l(garden.can.size, thickest))
        if takes_l > own_l + any_l:
            short.append(ShortFeed(wanted.family, own_l + any_l, takes_l, days[-1]))
        any_l = max(any_l - max(takes_l - own_l, 0.0), 0.0)
    return short
