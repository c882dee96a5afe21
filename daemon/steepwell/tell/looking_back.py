"""How last week's forecast did, and those of the weeks before, in a sentence each."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from steepwell.garden.days import local_day
from steepwell.outlook.evenings import read_evenings
from steepwell.outlook.verdict import LEADS_D, is_held, said_by
from steepwell.tell.documents import Outlook
from steepwell.words.figures import litres, two_figures
from steepwell.words.saying import say

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime
    from typing import Any

    from steepwell.garden.garden import Garden
    from steepwell.store.store import Store

LOOKS_BACK = timedelta(days=7)
MOST_WEEKS = 20
# Of fewer ranges nothing is said: it would be chance.
FEWEST_WEEKS = 8
A_WEEK = LEADS_D.index(LOOKS_BACK.days)


def how_it_did(
    earlier: dict[str, Any] | None, outlook: dict[str, Any] | None, *, below_taps_l: float = 0.0
) -> str | None:
    """Compare what was expected of the butts with what is in them.

    Parameters
    ----------
    earlier
        The outlook document of a week ago, or None.
    outlook
        The newest outlook document, or None.
    below_taps_l
        What lies below the taps of all butts and so is not in hand [L].

    Returns
    -------
    str or None
        For instance "Last week's was 300 to 520 L for today: it held." None where there is nothing
        to compare [L].
    """
    if earlier is None or outlook is None:
        return None
    before, now = Outlook.model_validate(earlier), Outlook.model_validate(outlook)
    evening_before = now.days[0] - timedelta(days=1)
    if evening_before not in before.days or not _is_old_enough(before.days[0], now.days[0]):
        return None
    index = before.days.index(evening_before)
    fan = before.water.volume_l
    low, high, there = (
        max(volume_l - below_taps_l, 0.0)
        for volume_l in (fan.p10[index], fan.p90[index], now.now_l)
    )
    came = "more" if there > high else "less" if there < low else "held"
    return say(f"looking-back-came.{came}", low=two_figures(low), high=litres(high))


def _is_old_enough(before: date, now: date) -> bool:
    return now - before >= LOOKS_BACK


def weeks_held(garden: Garden, store: Store, now: datetime) -> list[bool]:
    """Return of the ranges given for a week ahead, one a week, whether they held.

    Parameters
    ----------
    garden
        The garden.
    store
        Where outlooks and levels are.
    now
        The moment of the job.

    Returns
    -------
    list of bool
        The newest first, at most twenty; those whose evening was not read are left out.
    """
    today = local_day(garden, now)
    first = today - MOST_WEEKS * LOOKS_BACK
    evenings = read_evenings(garden, store, first, today, now)
    held = []
    for week in range(1, MOST_WEEKS + 1):
        outlook = store.results.latest("outlook", now - week * LOOKS_BACK)
        if outlook is None:
            break
        said = said_by(garden, outlook)
        # While no outlook was made the newest is one that has had its turn, or will have.
        if said.day > today - (week + 1) * LOOKS_BACK:
            held.append(is_held(garden, said, evenings, A_WEEK))
    return [each for each in held if each is not None]


def how_ranges_did(held: Sequence[bool]) -> str | None:
    """Return how many of the ranges for a week ahead held, in one sentence.

    Parameters
    ----------
    held
        Whether each did.

    Returns
    -------
    str or None
        For instance "It held in 16 of 20 weeks; eight in ten is right."; None for a few.
    """
    if len(held) < FEWEST_WEEKS:
        return None
    return say("looking-back.ranges", ranges=len(held), held=sum(held))
