"""The first lines of a letter: the water and until when, what gets water, what gets feed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from steepwell.garden.days import local_day
from steepwell.tell.dry_words import dry_words
from steepwell.tell.jobs import one_dose
from steepwell.tell.state import below_taps, lasts
from steepwell.tell.wording import cans, in_hand, joined_in_short, sentence
from steepwell.words.figures import litres, spoken, weekday
from steepwell.words.saying import say

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from steepwell.garden.garden import Garden
    from steepwell.tell.documents import FeedLine, Outlook, Plan, WaterLine

MOST_NAMED = 3


def is_dry(garden: Garden, plan: Plan) -> bool:
    """Return whether the butts are as good as dry."""
    return plan.in_hand_l is not None and plan.in_hand_l < garden.dry_line_l


def water_in_hand(garden: Garden, plan: Plan, outlook: Outlook | None, today: date) -> str:
    """Return the water in hand and how long it lasts.

    Parameters
    ----------
    garden
        The garden.
    plan
        What to do.
    outlook
        The weeks ahead, or None.
    today
        The local day.

    Returns
    -------
    str
        One sentence, or two.
    """
    if plan.in_hand_l is None:
        return say("lead.not-known") if garden.butt else sentence(say("screen.no-butt"))
    amount = in_hand(plan.in_hand_l, garden.capacity_l - below_taps(garden))
    if is_dry(garden, plan):
        return say("lead.dry", amount=amount)
    if plan.lasts_to is None:
        return say("lead.how-long-not-known", amount=amount)
    how_long = lasts(plan.lasts_to, today, outlook.days[-1] if outlook else None)
    # A plan that only repeats the outlook has not looked at what its own share-out saves.
    shared_out = outlook is None or plan.lasts_to != outlook.water.dry_by
    return say(
        "lead.shared-out" if shared_out else "lead.as-you-water", amount=amount, lasts=how_long
    )


def water_line(plan: Plan) -> str:
    """Return what gets water this week, and how much of it is from the tap."""
    daily = [line for line in plan.watered if line.daily_l]
    others = [line for line in plan.watered if not line.daily_l]
    if not plan.watered:
        return say("lead.water-nothing")
    if not daily:
        said = say("lead.water", beds=_with_amount(others))
    elif not others:
        said = say("lead.water-daily", daily=_beds(daily))
    else:
        said = say("lead.water-and-daily", beds=_with_amount(others), daily=_beds(daily))
    tap = say("lead.from-the-tap", amount=litres(plan.tap_l)) if plan.tap_l else ""
    return f"{said} {tap}".strip()


def _with_amount(lines: Sequence[WaterLine]) -> str:
    in_cans = all(line.cans for line in lines)
    amount = (
        cans(sum(line.cans or 0.0 for line in lines))
        if in_cans
        else litres(sum(line.litres for line in lines))
    )
    one = len(lines) == 1
    return say("lead.bed-amount" if one else "lead.beds-amount", beds=_beds(lines), amount=amount)


def feed_line(plan: Plan) -> str:
    """Return what gets feed this week, and how much where all get the same."""
    if not plan.feed:
        return say("lead.feed-nothing")
    beds, dose = _beds(plan.feed), one_dose(plan)
    if dose is None:
        # A measure for several cans says so with its job.
        in_one = all(line.cans == 1 for line in plan.feed)
        return say("lead.feed-a-can-each" if in_one else "lead.feed-beds", beds=beds)
    return say("lead.feed" if len(plan.feed) == 1 else "lead.feed-each", beds=beds, dose=dose)


def _beds(lines: Sequence[WaterLine] | Sequence[FeedLine]) -> str:
    names = dict.fromkeys(spoken(line.bed) for line in lines)
    return joined_in_short(list(names), MOST_NAMED)


def outlook_note(garden: Garden, outlook: Outlook | None, today: date) -> str:
    """Return what is not as usual with the outlook, or an empty string."""
    if outlook is None:
        return say("lead.no-record" if garden.weather_record is None else "lead.no-outlook")
    made_on = local_day(garden, outlook.issued)
    if made_on >= today:
        return ""
    is_yesterday = (today - made_on).days == 1
    return say(
        "lead.yesterdays-outlook" if is_yesterday else "lead.last-outlook", day=weekday(made_on)
    )


def dry_note(garden: Garden, plan: Plan, outlook: Outlook | None, today: date) -> str:
    """Return how unusual the weather is where water is short, else nothing."""
    if outlook is None or not (plan.left_dry or is_dry(garden, plan)):
        return ""
    return dry_words(outlook.dryness, today)
