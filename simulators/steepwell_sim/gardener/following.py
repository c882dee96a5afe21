"""What a gardener does who follows the plan: its water evening by evening, and its feed."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from steepwell_sim.gardener.habits import Want

if TYPE_CHECKING:
    from collections.abc import Collection

Plan = dict[str, Any]


def water_told(
    plan: Plan, today: date, *, rain_mm: float, rained_on: Collection[str], can_l: float
) -> list[Want]:
    """Return what a plan says to water this evening.

    Parameters
    ----------
    plan
        The plan last posted.
    today
        The local day.
    rain_mm
        What the gauge has caught since the plan was made [mm].
    rained_on
        The beds that rain reaches; only those are skipped after rain.
    can_l
        Size of the watering can [L].

    Returns
    -------
    list of Want
        In the order of the plan; nothing if its week is over.
    """
    first, last = (date.fromisoformat(day) for day in plan["week"])
    if not first <= today <= last:
        return []
    wants = []
    for line in plan["water"]:
        skip = line["bed"] in rained_on and rain_mm > line["skip_after_mm"]
        if line["daily_l"]:
            tap = line["from"] is None
            wants.append(Want(line["bed"], line["daily_l"], line["from"], tap=tap))
        elif today.isoformat() in line["days"] and not skip:
            wants.append(Want(line["bed"], _share(line, today, can_l), line["from"]))
    return wants


def feed_told(plan: Plan, today: date) -> list[dict[str, Any]]:
    """Return the lines of a plan's feed for today."""
    return [line for line in plan["feed"] if line["day"] == today.isoformat()]


def _share(line: dict[str, Any], today: date, can_l: float) -> float:
    """Return this evening's share of a bed's cans, to the half can; the first evenings get more."""
    rounds = len(line["days"])
    halves: int = round(2 * line["cans"])
    turn: int = line["days"].index(today.isoformat())
    return (halves // rounds + (turn < halves % rounds)) * can_l / 2
