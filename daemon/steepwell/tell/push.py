"""Decides who is told of a notice at once, and puts the mail into the outbox."""

from __future__ import annotations

from datetime import datetime, time, timedelta
from typing import TYPE_CHECKING

from steepwell.tell.notice_mail import compose_digest

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.garden.garden import Garden
    from steepwell.garden.site import Person
    from steepwell.store.notices import NoticeEvent
    from steepwell.store.store import Store

ANY_TIME = frozenset({"leak", "frost-tonight", "running-dry", "overflow-ahead", "butts-full"})
BY_DAY = frozenset({"downpipe-blocked", "shortfall-ahead", "vessel-ready", "sensor-silent"})
KEEPER_ONLY = frozenset(
    {
        "broker-unreachable",
        "worker-failed",
        "mirror-behind",
        "garden-file-refused",
        "store-full",
        "mail-failing",
        "push-failing",
        "backup-old",
    }
)
TOLD_EVENTS = frozenset({"raised", "changed"})


def put_digests(garden: Garden, store: Store, events: Sequence[NoticeEvent], now: datetime) -> None:
    """Put one mail a person into the outbox for what is to be told at once.

    Quiet hours hold everything back but what is urgent.

    Parameters
    ----------
    garden
        The garden, with the people to tell.
    store
        Where the outbox is; call this inside the transaction that records the events.
    events
        What was raised, changed or cleared by one job.
    now
        The moment of the job.
    """
    keepers = [person for person in garden.told.people if person.role == "keeper"]
    for person in garden.told.people:
        theirs = [event for event in events if _is_for(person, event, keepers)]
        if not theirs:
            continue
        urgent = any(event.kind in ANY_TIME for event in theirs)
        mail = compose_digest(garden, person, theirs, now)
        key = f"notices/{now.isoformat()}/{person.name}"
        not_before = now if urgent else after_quiet_hours(garden, person, now)
        store.outbox.put(key, person.mail, mail.as_bytes(), now, not_before=not_before)


def after_quiet_hours(garden: Garden, person: Person, now: datetime) -> datetime:
    """Return now, or the end of the quiet hours if now falls into them.

    Parameters
    ----------
    garden
        The garden, for its time zone.
    person
        Whose quiet hours.
    now
        The moment.

    Returns
    -------
    datetime
        Aware.
    """
    local = now.astimezone(garden.garden.zone)
    begin, end = time.fromisoformat(person.quiet_from), time.fromisoformat(person.quiet_to)
    here = local.time()
    over_midnight = begin > end
    quiet = (here >= begin or here < end) if over_midnight else begin <= here < end
    if not quiet:
        return now
    day = local.date() + timedelta(days=1 if over_midnight and here >= begin else 0)
    return datetime.combine(day, end, local.tzinfo)


def _is_for(person: Person, event: NoticeEvent, keepers: Sequence[Person]) -> bool:
    if event.event not in TOLD_EVENTS:
        return False
    if event.kind in KEEPER_ONLY:
        return person in keepers or (not keepers and person.role == "gardener")
    return person.role == "gardener" and event.kind in ANY_TIME | BY_DAY
