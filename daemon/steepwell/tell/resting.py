"""What a garden that rests is told: three lines a month."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from steepwell.tell.state import below_taps
from steepwell.tell.vessel_words import vessel_jobs, vessel_states
from steepwell.tell.wording import in_hand, litres

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
        return "At rest"
    return f"At rest, {litres(plan.in_hand_l)} in hand"


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
        water = "How much water is in hand is not known until a butt is read."
    else:
        most_l = garden.capacity_l - below_taps(garden)
        water = f"{in_hand(plan.in_hand_l, most_l)} in hand."
    vessels = " ".join(vessel_states(outlook, today)) or "Nothing steeps."
    wakes = 'When the garden begins again, note it: "steepwell note woken".'
    return water, vessels, " ".join([*vessel_jobs(plan.vessels)[:1], wakes])
