"""One short mail for the notices that come together."""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING

from steepwell.tell.mail import new_mail
from steepwell.tell.templating import filled
from steepwell.words.figures import spoken
from steepwell.words.saying import say, say_count

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime
    from email.message import EmailMessage

    from steepwell.garden.garden import Garden
    from steepwell.garden.site import Person
    from steepwell.store.notices import NoticeEvent
    from steepwell.tell.units import Units

URGENCIES = ("Immediate", "Expected", "Future", "Unknown", "Past")
SEVERITIES = ("Extreme", "Severe", "Moderate", "Minor", "Unknown")


def compose_digest(
    garden: Garden, person: Person, events: Sequence[NoticeEvent], now: datetime
) -> EmailMessage:
    """Write one mail about one or several notices.

    Parameters
    ----------
    garden
        The garden.
    person
        To whom it goes.
    events
        What happened; at least one.
    now
        When it is written (aware).

    Returns
    -------
    EmailMessage
        The most urgent first, what is over last; the same bytes for the same arguments.

    Raises
    ------
    ValueError
        If there is nothing to tell.
    """
    subject = digest_subject(events)
    mark = f"notice-{_digest(most_urgent_first(events))}"
    mail = new_mail(garden, person, now, subject=subject, mark=mark)
    return _with_text(garden, mail, digest_text(events, garden.garden.units))


def mail_of_push(
    garden: Garden, person: Person, key: str, now: datetime, *, title: str, body: str
) -> EmailMessage:
    """Write the mail that takes the place of a push that nobody took.

    Parameters
    ----------
    garden
        The garden.
    person
        To whom it goes.
    key
        What tells the push from others.
    now
        When it is written (aware).
    title, body
        What it says.

    Returns
    -------
    EmailMessage
        With the same Message-ID for the same push.
    """
    mark = f"notice-{hashlib.sha256(key.encode()).hexdigest()[:16]}"
    return _with_text(garden, new_mail(garden, person, now, subject=title, mark=mark), body)


def _with_text(garden: Garden, mail: EmailMessage, text: str) -> EmailMessage:
    signature = say("digest.signature", garden=spoken(garden.name))
    mail.set_content(f"{text.rstrip()}\n\n-- \n{signature}\n", cte="quoted-printable")
    return mail


def digest_subject(events: Sequence[NoticeEvent]) -> str:
    """Return the most urgent of some notices and how many more there are.

    Parameters
    ----------
    events
        What happened.

    Returns
    -------
    str
        For a subject or a title.

    Raises
    ------
    ValueError
        If there is nothing to tell.
    """
    if not events:
        raise ValueError("a message about notices needs at least one")
    ordered = most_urgent_first(events)
    first, more = ordered[0].headline, len(ordered) - 1
    return say_count("digest.and-more", more, first=first) if more else first


def digest_text(events: Sequence[NoticeEvent], units: Units) -> str:
    """Return what some notices say, the most urgent first, what is over last."""
    return filled("digest.txt.j2", units=units, notices=most_urgent_first(events))


def most_urgent_first(events: Sequence[NoticeEvent]) -> list[NoticeEvent]:
    """Return what happened, the most urgent first, what is over last."""
    return sorted(events, key=_rank)


def _rank(event: NoticeEvent) -> tuple[bool, int, int, str]:
    return (
        event.event == "cleared",
        URGENCIES.index(event.urgency),
        SEVERITIES.index(event.severity),
        event.id,
    )


def _digest(events: Sequence[NoticeEvent]) -> str:
    told = "\n".join(f"{event.id} {event.event} {event.at.isoformat()}" for event in events)
    return hashlib.sha256(told.encode()).hexdigest()[:16]
