"""How long the water lasts, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from steepwell.tell.documents import Outlook
from steepwell.tell.wording import day_range, in_hand
from steepwell.words.figures import day
from steepwell.words.saying import say

if TYPE_CHECKING:
    from datetime import date

    from steepwell.garden.garden import Garden
    from steepwell.tell.documents import DayRange


def state(outlook: dict[str, Any], *, below_taps_l: float = 0.0) -> str:
    """Return what is in hand and how long it lasts at the present rate.

    Parameters
    ----------
    outlook
        The outlook document.
    below_taps_l
        What lies below the taps of all butts and so is not in hand [L].

    Returns
    -------
    str
        For instance "in hand 310 of 630 L; at your present rate it lasts to about 22 July
        (18 July to 8 August)" [L].

    Raises
    ------
    pydantic.ValidationError
        If the document is no outlook.
    """
    ahead = Outlook.model_validate(outlook)
    amount = in_hand(max(ahead.now_l - below_taps_l, 0.0), ahead.capacity_l - below_taps_l)
    how_long = lasts(ahead.water.dry_by, ahead.days[0], ahead.days[-1])
    return say("state.in-hand", amount=amount, lasts=how_long)


def below_taps(garden: Garden) -> float:
    """Return what all butts hold below their taps [L]."""
    return sum(butt.dead_volume for butt in garden.butt)


def lasts(dry_by: DayRange, today: date, horizon_end: date | None) -> str:
    """Return how long the water lasts as the end of a sentence.

    Parameters
    ----------
    dry_by
        Days by which a tenth, a half and nine tenths of the futures have run dry; None where that
        many do not.
    today
        The local day.
    horizon_end
        The last day that was looked at, or None if it is not known.

    Returns
    -------
    str
        For instance "it lasts to about 22 July (18 July to 8 August)".
    """
    beyond = say("state.beyond-the-weeks")
    if horizon_end:
        beyond = say("state.beyond-day", day=day(horizon_end))
    if dry_by.p50 is not None and dry_by.p50 <= today:
        return say("state.used-up")
    if dry_by.p50 is not None:
        return _to_about(dry_by, dry_by.p50, beyond)
    if dry_by.p10 is not None:
        return say("state.likely-beyond", beyond=beyond, day=day(dry_by.p10))
    return say("state.no-dry-day", beyond=beyond)


def _to_about(dry_by: DayRange, middle: date, beyond: str) -> str:
    if dry_by.p10 is None or dry_by.p10 == dry_by.p90:
        return say("state.to-about", day=day(middle))
    if dry_by.p90 is None:
        return say("state.to-about-or-beyond", day=day(middle), first=day(dry_by.p10), last=beyond)
    return say("state.to-about-range", day=day(middle), range=day_range(dry_by.p10, dry_by.p90))
