"""What a garden that rests is told: three lines a month."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from steepwell.tell.lead import water_in_hand
from steepwell.tell.state import below_taps
from steepwell.tell.vessel_words import vessel_jobs, vessel_states
from steepwell.tell.wording import in_hand
from steepwell.words.figures import litres
from steepwell.words.saying import say

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden
    from steepwell.tell.documents import Outlook, Plan

WEEK = timedelta(days=7)


def is_first_of_month(today: date) -> bool:
    """Return whether a weekly letter is the first of its month, the one that a resting garden gets.

    Parameters
    ----------
    today
        The local day of the letter.
    """
    return (today - WEEK).month != today.month


def resting_subject(plan: Plan) -> str:
    """Return the subject of the letter of a resting garden."""
    if plan.in_hand_l is None:
        return say("resting.subject")
    return say("resting.subject-in-hand", litres=litres(plan.in_hand_l))


def resting_lines(
    garden: Garden, plan: Plan, outlook: Outlook | None, today: date
) -> tuple[str, str, str]:
    """Return what is in the butts, what is in the vessels, and what comes next.

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
    tuple of str
        Three lines.
    """
    if plan.in_hand_l is None:
        water = water_in_hand(garden, plan, outlook, today)
    else:
        most_l = garden.capacity_l - below_taps(garden)
        water = say("resting.in-hand", amount=in_hand(plan.in_hand_l, most_l))
    vessels = " ".join(vessel_states(outlook, today)) or say("resting.nothing-steeps")
    return water, vessels, " ".join([*vessel_jobs(plan.vessels)[:1], say("resting.wakes")])
