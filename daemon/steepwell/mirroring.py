"""What becomes of the mirror's account when its worker has answered; the order to send again."""

from __future__ import annotations

from datetime import datetime, time, timedelta
from typing import TYPE_CHECKING, Any

from steepwell.errors import CommandError
from steepwell.store.mirror import Sent
from steepwell.store.store import garden_store_url, open_store
from steepwell.tell.outbox import back_off

if TYPE_CHECKING:
    from datetime import date, tzinfo

    from steepwell.garden.garden import Garden
    from steepwell.store.mirror import MirrorState
    from steepwell.store.store import Store

LONGEST_WAIT = timedelta(hours=1)

Json = dict[str, Any]


def keep_account(store: Store, answer: Json, now: datetime) -> bool:
    """Note what the mirror has taken, and when to try again if it failed.

    Parameters
    ----------
    store
        Where the account is; call this inside a transaction.
    answer
        What ``mirror.flush`` gave, or ``failure`` alone where the worker gave nothing.
    now
        The moment of the job.

    Returns
    -------
    bool
        Whether nothing is left to send.
    """
    if "sent" in answer:
        store.mirror.taken(Sent(**answer["sent"]), now)
    failure = answer["failure"]
    if failure is None:
        store.mirror.went_well(now, complete=not answer["more"])
        return not answer["more"]
    state = store.mirror.state()
    wait = min(back_off(state.failures if state is not None else 0), LONGEST_WAIT)
    asked_s = failure.get("retry_after_s")
    if asked_s is not None:
        wait = max(wait, timedelta(seconds=asked_s))
    store.mirror.failed(failure["reason"], now + wait, lasting=failure["lasting"])
    return False


def send_again(garden: Garden, first: date, now: datetime) -> Json:
    """Have everything sent again from a day on, with the next flush.

    Parameters
    ----------
    garden
        The garden.
    first
        The day.
    now
        The present moment.

    Returns
    -------
    dict
        ``changed``, a sentence.

    Raises
    ------
    CommandError
        If there is no mirror to send to.
    """
    if garden.mirror is None:
        raise CommandError("there is no [mirror] in the garden file to send to")
    start = datetime.combine(first, time(), garden.garden.zone)
    with open_store(garden_store_url(garden), garden) as store:
        store.mirror.send_again(start, now)
    return {"changed": f"Everything since {first:%-d %B %Y} goes to the mirror once more, hourly."}


def mirror_report(store: Store, zone: tzinfo) -> Json | None:
    """Return how the mirror stands, None before anything was sent.

    Parameters
    ----------
    store
        Where the account is.
    zone
        The time zone to tell moments in.

    Returns
    -------
    dict or None
        ``complete`` and ``next_try`` (moments), ``failures``, ``reason``, ``refused``,
        ``refused_last``.
    """
    state: MirrorState | None = store.mirror.state()
    if state is None:
        return None
    return {
        "complete": state.complete.astimezone(zone).isoformat(timespec="seconds"),
        "next_try": state.next_try.astimezone(zone).isoformat(timespec="seconds"),
        "failures": state.failures,
        "reason": state.reason,
        "refused": store.mirror.refused_count(),
        "refused_last": [
            {"line": line.line, "reason": line.reason} for line in store.mirror.refused(3)
        ],
    }


def mirror_lines(report: Json) -> list[str]:
    """Return what ``steepwell status`` says of the mirror."""
    lines = [f"Mirror: all sent up to {report['complete']}."]
    if report["reason"]:
        lines = [f"Mirror: behind since {report['complete']}: {report['reason']}."]
    if report["refused"]:
        lines[0] += f" Lines refused: {report['refused']}."
    return lines + [f"  {r['line']}: {r['reason']}" for r in report["refused_last"]]
