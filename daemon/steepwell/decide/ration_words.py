"""Why a bed gets water or none while it is short, in half a sentence."""

from __future__ import annotations

import math
from datetime import timedelta
from typing import TYPE_CHECKING

from steepwell.decide.priority import growth_words, stop_words

if TYPE_CHECKING:
    from datetime import date

    from steepwell.outlook.calendar import Stay
    from steepwell.outlook.state import BedNow

WEEK_D = 7
HOLDS_OUT = "holds out through the weeks ahead"
HOLDS_OUT_WEEK = "holds out through the week"
BY_PRIORITY = "by priority alone, because the weeks ahead could not be weighed up in time"


def why_watered(
    now: BedNow, standing: Stay, today: date, thirsty_in_d: float, *, most_to_lose: bool
) -> str:
    """Return why a bed gets water.

    Parameters
    ----------
    now
        How dry it is.
    standing
        Its crop.
    today
        The day of the plan.
    thirsty_in_d
        When it may be expected to lack water, infinite if not in the weeks ahead [d].
    most_to_lose
        Whether no other bed loses as much with each can it lacks.

    Returns
    -------
    str
        For instance "in flower, and dry already; it has most to lose".
    """
    if now.depletion_mm > now.raw_mm:
        dry = "dry already"
    elif thirsty_in_d <= 1:
        dry = "dry by tomorrow unless it rains"
    elif thirsty_in_d < WEEK_D:
        dry = f"dry in {thirsty_in_d:.0f} days unless it rains"
    else:
        dry = "dry before long unless it rains"
    growth = growth_words(standing, today)
    told = f"{growth}, and {dry}" if growth else dry
    return f"{told}; it has most to lose" if most_to_lose else told


def why_left(
    now: BedNow,
    standing: Stay,
    today: date,
    thirsty_in_d: float,
    *,
    meant_mm: float,
    others_get: bool,
) -> tuple[str, bool]:
    """Return why a bed gets none, and whether that holds for as long as water is short.

    Parameters
    ----------
    now
        How dry it is.
    standing
        Its crop.
    today
        The day of the plan.
    thirsty_in_d
        When it may be expected to lack water, infinite if not in the weeks ahead [d].
    meant_mm
        What it was meant to get before that was rounded to nothing [mm].
    others_get
        Whether other beds get water this week.

    Returns
    -------
    tuple
        The reason, and whether the bed is on the stop list.
    """
    if math.isinf(thirsty_in_d):
        return HOLDS_OUT, False
    if thirsty_in_d >= WEEK_D:
        until = today + timedelta(days=thirsty_in_d)
        return f"holds out till about {until.day} {until:%B}", False
    if meant_mm >= 1.0:
        return "wants less this week than is worth the way", False
    stop = stop_words(standing, today)
    if stop is not None:
        return stop, True
    dry = "dry" if now.depletion_mm > now.raw_mm else "dry within the week unless it rains"
    if not others_get:
        return f"{dry}, but the water does more good later", False
    return f"{dry}, but the water goes first to beds that lose more", False
