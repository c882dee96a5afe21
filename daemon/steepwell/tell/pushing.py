"""Pushes: what goes into one, where its address stands, and who hands it over."""

from __future__ import annotations

import json
import logging
import os
from pathlib import Path
from typing import TYPE_CHECKING, Any

from steepwell.errors import DeliveryError, SecretError
from steepwell.garden.secrets import read_secret
from steepwell.tell.notice_mail import digest_subject, most_urgent_first
from steepwell.tell.units import in_units

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.garden.garden import Garden
    from steepwell.store.notices import NoticeEvent
    from steepwell.store.outbox import OutboxItem
    from steepwell.tell.units import Units

IN_FILE, IN_ENVIRONMENT = "file:", "env:"

Json = dict[str, Any]


def push_message(events: Sequence[NoticeEvent], units: Units) -> bytes:
    """Return a push about one or several notices, as it waits in the outbox.

    Parameters
    ----------
    events
        What happened; at least one.
    units
        In which amounts are told.
    """
    told = [(each.headline, each.text) for each in most_urgent_first(events)]
    body = told[0][1] if len(told) == 1 else "\n\n".join("\n".join(each) for each in told)
    return as_push(in_units(digest_subject(events), units), in_units(body, units))


def as_push(title: str, body: str) -> bytes:
    """Return a push with a title and a text, as it waits in the outbox."""
    return json.dumps({"title": title, "body": body}, ensure_ascii=False).encode()


def push_address(garden: Garden, way: str) -> str:
    """Return the address a way leads to, which holds secrets and is never shown.

    Parameters
    ----------
    garden
        The garden, for where a relative path begins.
    way
        ``file:`` with a path, or ``env:`` with the name of a variable.

    Returns
    -------
    str
        An address that apprise understands.

    Raises
    ------
    DeliveryError
        If there is none.
    """
    if way.startswith(IN_ENVIRONMENT):
        address = os.environ.get(way.removeprefix(IN_ENVIRONMENT), "").strip()
        if not address:
            raise DeliveryError(f"{way}: the variable is not set; it should hold the address")
        return address
    try:
        return read_secret("an address", Path(way.removeprefix(IN_FILE)), garden.folder)
    except SecretError as error:
        raise DeliveryError(f"{way}: {error}") from None


def send_pushes(garden: Garden, items: Sequence[OutboxItem]) -> list[Json]:
    """Hand over pushes; only in a process of its own, for what it loads is heavy.

    Parameters
    ----------
    garden
        The garden.
    items
        What waits.

    Returns
    -------
    list of dict
        For each its ``id`` and the ``error``, None if it was taken; never with an address in it.
    """
    return [{"id": item.id, "error": _error_of(garden, item)} for item in items]


def _error_of(garden: Garden, item: OutboxItem) -> str | None:
    try:
        _send(garden, item)
    except DeliveryError as error:
        return str(error)
    return None


def known_service(garden: Garden, way: str) -> Any:  # noqa: ANN401 - what apprise gives
    """Return what hands pushes over to where a way leads.

    Parameters
    ----------
    garden
        The garden, for where a relative path begins.
    way
        The way, as the garden file has it.

    Returns
    -------
    apprise.Apprise
        With that one address.

    Raises
    ------
    DeliveryError
        If there is no address, or none that is known.
    """
    import apprise  # noqa: PLC0415 - heavy, and only a worker needs it

    # It writes addresses into its log.
    logging.getLogger("apprise").setLevel(logging.CRITICAL + 1)
    sender = apprise.Apprise()
    if not sender.add(push_address(garden, way)):
        raise DeliveryError(f"{way}: what stands there is no address that apprise knows")
    return sender


def _send(garden: Garden, item: OutboxItem) -> None:
    sender = known_service(garden, item.way)
    said = json.loads(item.message)
    try:
        taken = sender.notify(title=said["title"], body=said["body"])
    except Exception as error:  # noqa: BLE001 - plugins raise what they like, addresses in it
        raise DeliveryError(f"{item.way}: sending failed ({type(error).__name__})") from None
    if not taken:
        raise DeliveryError(f"{item.way}: the push was not taken")
