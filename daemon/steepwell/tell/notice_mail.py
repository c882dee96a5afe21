"""One short mail for the notices that come together."""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING

from steepwell.tell.mail import new_mail
from steepwell.tell.templating import filled
from steepwell.tell.wording import spoken

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime
    from email.message import EmailMessage

    from steepwell.garden.garden import Garden
    from steepwell.garden.site import Person
    from steepwell.store.notices import NoticeEvent

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
    if not events:
        raise ValueError("a mail about notices needs at least one")
    ordered = sorted(events, key=_rank)
    subject = ordered[0].headline
    if len(ordered) > 1:
        subject = f"{subject}, and {len(ordered) - 1} more"
    mail = new_mail(garden, person, now, subject=subject, mark=f"notice-{_digest(ordered)}")
    mail.set_content(
        filled(
            "digest.txt.j2",
            notices=ordered,
            garden=spoken(garden.name),
        ),
        cte="quoted-printable",
    )
    return mail


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
