"""Delivers what waits in the outbox, with back-off.

A message is recorded as delivered in a transaction of its own, after it was taken. A crash between
the two is the only way to hand one over twice. The Message-ID of a mail is the same both times, by
which mail programs know it for one mail; a push that was taken just before a crash comes again.
Nothing else is sent twice, and nothing is lost: what is not taken stays and is tried again, and
what is urgent goes by the person's next way after the fourth try.
"""

from __future__ import annotations

import json
from datetime import datetime, timedelta
from email import message_from_bytes
from email.message import EmailMessage
from email.policy import SMTP
from typing import TYPE_CHECKING, Any

from steepwell.errors import DeliveryError
from steepwell.store.outbox import MAIL
from steepwell.tell.notice_mail import mail_of_push
from steepwell.tell.pushing import as_push
from steepwell.words.saying import say

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden
    from steepwell.garden.site import Person
    from steepwell.store.outbox import OutboxItem
    from steepwell.store.store import Store
    from steepwell.tell.mailers import Mailer

FIRST_WAIT = timedelta(minutes=1)
LONGEST_WAIT = timedelta(hours=6)
DOUBLINGS_TO_LONGEST = 9
# After one, two and four minutes a server that only was busy has taken it.
TRIES_BEFORE_NEXT_WAY = 4

Json = dict[str, Any]


def deliver_due(garden: Garden, store: Store, mailer: Mailer, now: datetime) -> int:
    """Hand over every mail whose time has come.

    Parameters
    ----------
    garden
        The garden, with the ways of its people.
    store
        Where the outbox is.
    mailer
        Who takes the mails.
    now
        The present moment (aware).

    Returns
    -------
    int
        Mails handed over.
    """
    delivered = 0
    for item in store.outbox.due(now):
        if item.way != MAIL:
            continue
        error = None
        try:
            mailer.send(item.message, item.to)
        except DeliveryError as trouble:
            error = str(trouble)
        settle(garden, store, item, error, now)
        delivered += error is None
    return delivered


def settle_pushes(garden: Garden, store: Store, answer: Json, now: datetime) -> None:
    """Record what became of pushes.

    Parameters
    ----------
    garden
        The garden, with the ways of its people.
    store
        Where the outbox is.
    answer
        ``sent``: the number of each and its error, None if it was taken.
    now
        The present moment (aware).
    """
    errors = {sent["id"]: sent["error"] for sent in answer["sent"]}
    for item in store.outbox.due(now):
        if item.id in errors:
            settle(garden, store, item, errors[item.id], now)


def settle(
    garden: Garden, store: Store, item: OutboxItem, error: str | None, now: datetime
) -> None:
    """Record that a message was taken, or why not and who tries next.

    Parameters
    ----------
    garden
        The garden, with the ways of its people.
    store
        Where the outbox is.
    item
        The message.
    error
        Why it was not taken, None if it was.
    now
        The present moment (aware).
    """
    if error is None:
        store.outbox.delivered(item.id, now)
        return
    with store.transaction():
        store.outbox.failed(item.id, error, now + back_off(item.attempts))
        if item.attempts + 1 < TRIES_BEFORE_NEXT_WAY or not item.key.startswith("notices/"):
            return
        person = next((p for p in garden.told.people if p.name == item.person), None)
        way = None if person is None else _next_way(garden, person, item.way)
        if person is not None and way is not None:
            _hand_on(garden, store, item, now, person=person, way=way)


def _next_way(garden: Garden, person: Person, way: str) -> str | None:
    """Return the way after this one, None if it is the last or is not theirs any more."""
    usable = [each for each in person.ways if each != MAIL or garden.told.mail is not None]
    if way not in usable or way == usable[-1]:
        return None
    return usable[usable.index(way) + 1]


def _hand_on(
    garden: Garden, store: Store, item: OutboxItem, now: datetime, *, person: Person, way: str
) -> None:
    title, body = _said(item)
    body = f"{body.rstrip()}\n\n{say('outbox.another-way', way=item.way)}"
    key = f"{item.key}+{way}"
    if way == MAIL:
        message = mail_of_push(garden, person, key, now, title=title, body=body).as_bytes()
        store.outbox.hand_on(item, way, person.mail, message, now)
    else:
        store.outbox.hand_on(item, way, person.name, as_push(title, body), now)


def _said(item: OutboxItem) -> tuple[str, str]:
    """Return headline and text of a message, whichever way it was to go."""
    if item.way != MAIL:
        said = json.loads(item.message)
        return said["title"], said["body"]
    mail = message_from_bytes(item.message, _class=EmailMessage, policy=SMTP)
    body = mail.get_body(("plain",))
    text = "" if body is None else str(body.get_content())
    return str(mail["Subject"]), text.partition("\n-- \n")[0]


def back_off(attempts: int) -> timedelta:
    """Return how long to wait after a failure: a minute, doubled each time up to six hours.

    Parameters
    ----------
    attempts
        Failures before this one [-].

    Returns
    -------
    timedelta
        Wait until the next attempt.
    """
    doubled: int = 2 ** min(attempts, DOUBLINGS_TO_LONGEST)
    return min(FIRST_WAIT * doubled, LONGEST_WAIT)
