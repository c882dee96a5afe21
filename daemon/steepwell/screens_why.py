"""What ``steepwell status --why`` prints: who was told what, or why not."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from steepwell.store.decisions import Reason
from steepwell.store.store import garden_store_url, open_store
from steepwell.words.saying import say

if TYPE_CHECKING:
    from datetime import datetime

    from steepwell.garden.garden import Garden

NEWEST = 40

Json = dict[str, Any]


def decisions_report(garden: Garden, now: datetime) -> list[Json]:
    """Return the newest decisions about telling, newest first.

    Parameters
    ----------
    garden
        The garden.
    now
        The moment.

    Returns
    -------
    list of dict
        Each with its notice, person, reason and moments in local time.
    """
    zone = garden.garden.zone
    with open_store(garden_store_url(garden), garden, read_only=True) as store:
        return [
            {
                "at": one.at.astimezone(zone).isoformat(timespec="minutes"),
                "notice": one.event.id,
                "event": one.event.event,
                "because": one.event.reason,
                "headline": one.event.headline,
                "person": one.decision.person,
                "reason": one.decision.reason.value,
                "tell_at": (
                    None
                    if one.decision.tell_at is None
                    else one.decision.tell_at.astimezone(zone).isoformat(timespec="minutes")
                ),
            }
            for one in store.decisions.newest(NEWEST, now)
        ]


def decisions_screen(report: Json) -> str:
    """Return the decisions as lines for a person."""
    if not report["decisions"]:
        return say("screen.nothing-told")
    return "\n".join([say("screen.told-or-not"), *(_line(one) for one in report["decisions"])])


def _line(one: Json) -> str:
    reason = Reason(one["reason"])
    when = f" ({one['tell_at']})" if one["tell_at"] and reason is not Reason.OVER else ""
    told = say(
        "screen.decision",
        at=one["at"],
        notice=one["notice"],
        event=one["event"],
        because=one["because"],
        person=one["person"],
        reason=f"{reason.in_words()}{when}",
    )
    return f"  {told}"
