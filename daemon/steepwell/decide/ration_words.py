"""Why a bed gets water or none while it is short, in half a sentence."""

from __future__ import annotations

import math
from datetime import timedelta
from typing import TYPE_CHECKING

from steepwell.decide.priority import growth_words, stop_words
from steepwell.words.figures import day, strung
from steepwell.words.saying import say, say_count

if TYPE_CHECKING:
    from datetime import date

    from steepwell.outlook.calendar import Stay
    from steepwell.outlook.state import BedNow

WEEK_D = 7


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
        dry = say("watering.dry-already")
    elif thirsty_in_d <= 1:
        dry = say("ration.dry-tomorrow")
    elif thirsty_in_d < WEEK_D:
        dry = say_count("ration.dry-in", round(thirsty_in_d))
    else:
        dry = say("ration.dry-before-long")
    growth = growth_words(standing, today)
    told = say("ration.grows-and-dry", growth=growth, dry=dry) if growth else dry
    return strung([told, say("ration.most-to-lose")]) if most_to_lose else told


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
        return say("ration.holds-out"), False
    if thirsty_in_d >= WEEK_D:
        until = today + timedelta(days=thirsty_in_d)
        return say("ration.holds-out-till", day=day(until)), False
    if meant_mm >= 1.0:
        return say("ration.not-worth-the-way"), False
    stop = stop_words(standing, today)
    if stop is not None:
        return stop, True
    is_dry = now.depletion_mm > now.raw_mm
    dry = say("watering.dry" if is_dry else "ration.dry-this-week")
    why = say("watering.others-first" if others_get else "ration.later", dry=dry)
    return why, False
