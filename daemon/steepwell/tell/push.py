"""Decides who is told of what happened to notices, and puts what is to be told into the outbox.

Each step leaves what it came to in the store, in the transaction of what caused it: events and
decisions with the job that found them, a digest with the decisions it settles. A crash between two
steps is made good by the next tick, which finds what waits.
"""

from __future__ import annotations

import hashlib
from datetime import timedelta
from typing import TYPE_CHECKING

from steepwell.garden.days import local_day
from steepwell.store.decisions import Reason
from steepwell.store.notices import NoticeEvent
from steepwell.tell.answers import REASONS, answers_now
from steepwell.tell.notice_mail import compose_digest
from steepwell.tell.pushing import push_message
from steepwell.tell.telling import (
    REMINDED,
    REMINDED_AFTER,
    Circumstances,
    addressed,
    begin_of,
    decide,
    zone_of,
)
from steepwell.words.figures import day
from steepwell.words.saying import say

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date, datetime

    from steepwell.garden.garden import Garden
    from steepwell.garden.site import Person
    from steepwell.store.decisions import Decided
    from steepwell.store.notices import StandingNotice
    from steepwell.store.store import Store
    from steepwell.tell.answers import Answers

# Longer ago than this nothing that was told counts.
LOOK_BACK = timedelta(days=60)
NO_KEY = "-"


def record_events(
    garden: Garden, store: Store, events: Sequence[NoticeEvent], now: datetime, *, mails: bool
) -> None:
    """Keep what happened to notices, and for each person what is decided about it.

    Parameters
    ----------
    garden
        The garden, with the people to tell.
    store
        Where it is kept; call this inside the transaction of the job.
    events
        What one job came to.
    now
        The moment of the job.
    mails
        Whether there is anything that takes mails.
    """
    if not events:
        return
    numbers = store.notices.record(events)
    standing = {notice.kind for notice in store.notices.standing()}
    answers = answers_now(store, now)
    for number, event in zip(numbers, events, strict=True):
        known = Circumstances(answers, standing, store.decisions.told_since(now - LOOK_BACK), mails)
        decisions = [
            decide(garden, person, event, known, now) for person in addressed(garden, event)
        ]
        store.decisions.record(number, decisions, now)


def reminders(
    garden: Garden, store: Store, standing: Sequence[StandingNotice], now: datetime
) -> list[NoticeEvent]:
    """Return the notices to tell of again: put off until today, or standing for a week and harmful.

    Parameters
    ----------
    garden
        The garden.
    store
        Its journal and notices.
    standing
        The notices that stand, of the kinds the job looked for.
    now
        The moment of the job.

    Returns
    -------
    list of NoticeEvent
        Events that say why.
    """
    if not standing:
        return []
    answers = answers_now(store, now)
    today = local_day(garden, now)
    found = []
    for notice in standing:
        why = _why_again(notice, answers, today, now)
        if why is not None:
            last = notice.last
            found.append(
                NoticeEvent(
                    id=notice.id,
                    kind=notice.kind,
                    subject=notice.subject,
                    event="reminded",
                    at=now,
                    urgency=last.urgency,
                    severity=last.severity,
                    certainty=last.certainty,
                    headline=last.headline,
                    text=last.text,
                    figures=last.figures,
                    reason=why,
                )
            )
    return found


def _why_again(notice: StandingNotice, answers: Answers, today: date, now: datetime) -> str | None:
    last = notice.last
    answer = answers.last.get(notice.id)
    if answer is not None and answer.until is not None and last.at <= answer.at:
        until = day(answer.until)
        return say("push.put-off-until", day=until) if answer.until <= today else None
    if notice.kind not in REMINDED or now - last.at < REMINDED_AFTER:
        return None
    if answers.to(notice.id, "reminded", now, today) is not None:
        return None
    return say("push.another-week")


def put_digests(garden: Garden, store: Store, now: datetime) -> None:
    """Put one message a person into the outbox, of all that is to be told to them by now.

    Parameters
    ----------
    garden
        The garden, with the people to tell.
    store
        Where decisions and the outbox are.
    now
        The moment.
    """
    due = store.decisions.due(now)
    if not due:
        return
    with store.transaction():
        newest = {notice.id: notice.last for notice in store.notices.standing()}
        answers = answers_now(store, now)
        people = {person.name: person for person in garden.told.people}
        of_person: dict[str, list[Decided]] = {}
        for one in due:
            of_person.setdefault(one.decision.person, []).append(one)
        for name, theirs in of_person.items():
            person = people.get(name)
            if person is None:
                for one in theirs:
                    store.decisions.settle(one.number, Reason.NO_WAY, NO_KEY)
                continue
            left = _still_to_tell(
                garden, store, person, theirs, newest=newest, answers=answers, now=now
            )
            _put_digest(garden, store, person, left, now)


def _still_to_tell(
    garden: Garden,
    store: Store,
    person: Person,
    theirs: Sequence[Decided],
    *,
    newest: dict[str, NoticeEvent],
    answers: Answers,
    now: datetime,
) -> list[Decided]:
    """Settle what has become idle while it waited, and return the rest."""
    today = now.astimezone(zone_of(garden, person)).date()
    last_of = {one.event.id: one.number for one in theirs}
    left = []
    for one in theirs:
        event = one.event
        answer = answers.to(event.id, event.event, event.at, today)
        if event.id not in newest:
            store.decisions.settle(one.number, Reason.OVER, NO_KEY)
        elif last_of[event.id] != one.number:
            store.decisions.settle(one.number, Reason.SUPERSEDED, NO_KEY)
        elif answer is not None and answer.until is not None:
            store.decisions.put_off(one.number, begin_of(garden, person, answer.until))
        elif answer is not None:
            store.decisions.settle(one.number, REASONS[answer.answer], NO_KEY)
        else:
            left.append(one)
    return left


def _put_digest(
    garden: Garden, store: Store, person: Person, told: Sequence[Decided], now: datetime
) -> None:
    if not told:
        return
    events = [one.event for one in told]
    numbers = ",".join(str(one.number) for one in told)
    mark = hashlib.sha256(f"{garden.name} {person.name} {numbers}".encode()).hexdigest()[:16]
    key = f"notices/{mark}"
    way = person.ways[0]
    if way == "mail":
        message = compose_digest(garden, person, events, now).as_bytes()
        store.outbox.put(key, person.mail, message, now, person=person.name)
    else:
        message = push_message(events, garden.garden.units)
        store.outbox.put(key, person.name, message, now, person=person.name, way=way)
    for one in told:
        store.decisions.settle(one.number, Reason.TOLD, key)
