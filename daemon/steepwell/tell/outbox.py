"""Delivers what waits in the outbox, with back-off.

A mail is recorded as delivered in a transaction of its own, after the server took it. A crash
between the two is the only way to hand a mail over twice. Its Message-ID is the same both times,
by which mail programs know it for one mail. Nothing else is sent twice, and nothing is lost: a
mail that is not taken stays and is tried again.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from steepwell.errors import DeliveryError

if TYPE_CHECKING:
    from steepwell.store.store import Store
    from steepwell.tell.mailers import Mailer

FIRST_WAIT = timedelta(minutes=1)
LONGEST_WAIT = timedelta(hours=6)
DOUBLINGS_TO_LONGEST = 9


def deliver_due(store: Store, mailer: Mailer, now: datetime) -> int:
    """Hand over every mail whose time has come.

    Parameters
    ----------
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
        try:
            mailer.send(item.message, item.to)
        except DeliveryError as error:
            store.outbox.failed(item.id, str(error), now + back_off(item.attempts))
        else:
            store.outbox.delivered(item.id, now)
            delivered += 1
    return delivered


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
