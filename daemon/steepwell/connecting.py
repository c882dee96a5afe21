"""Tries whatever the garden file speaks to: broker, mail, pushes, mirror, and the page's port."""

from __future__ import annotations

import socket
from contextlib import closing
from typing import TYPE_CHECKING, Any

from steepwell.errors import BrokerError, CommandError, DeliveryError, MirrorError
from steepwell.standing_by import running_daemon

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import datetime

    from steepwell.garden.garden import Garden
    from steepwell.garden.site import Page

Json = dict[str, Any]

PATIENCE_S = 10.0


def try_connections(garden: Garden, now: datetime) -> Json:
    """Try everything there is to speak to.

    Parameters
    ----------
    garden
        The garden.
    now
        The present moment.

    Returns
    -------
    dict
        ``connection``, what the broker answers, None where there is none; ``tried``, for each
        other its name, whether it is ``well``, and what is ``said``: what to mend, if it is not.
    """
    answers: Json = {"connection": None, "tried": []}
    tried: list[Json] = answers["tried"]
    if garden.broker is not None:
        try:
            answers["connection"] = _broker(garden)
        except BrokerError as error:
            tried.append(_told("broker", str(error), well=False))
    for name, attempt in _attempts(garden, now):
        try:
            tried.append(_told(name, attempt(), well=True))
        except (DeliveryError, MirrorError, CommandError) as error:
            tried.append(_told(name, str(error), well=False))
    if garden.broker is None and not tried:
        raise CommandError("the garden file names nothing to connect to; see [broker], [told.mail]")
    return answers


def _told(name: str, said: str, *, well: bool) -> Json:
    return {"name": name, "well": well, "said": said}


def connection_lines(tried: list[Json]) -> list[str]:
    """Return what ``steepwell check`` says of what it tried beside the broker."""
    return [f"{one['name'].capitalize()}: {one['said']}." for one in tried]


def _attempts(garden: Garden, now: datetime) -> Iterator[tuple[str, Callable[[], str]]]:
    if garden.told.mail is not None:
        yield "mail", lambda: _mail(garden)
    ways = {way for person in garden.told.people for way in person.ways if way != "mail"}
    for way in sorted(ways):
        yield f"push {way}", lambda way=way: _push(garden, way)  # type: ignore[misc]
    if garden.mirror is not None:
        yield "mirror", lambda: _mirror(garden, now)
    if garden.page is not None:
        page = garden.page
        yield "page", lambda: _page(garden, page)


def _broker(garden: Garden) -> Json:
    from steepwell.sense.trying import try_broker  # noqa: PLC0415 - loads paho

    return try_broker(garden)


def _mail(garden: Garden) -> str:
    from steepwell.tell.mailers import SmtpMailer  # noqa: PLC0415 - only to try it

    server = garden.told.mail
    if server is None:
        raise DeliveryError("the garden file has no [told.mail]")
    SmtpMailer(server, garden.folder).greet()
    return f"the server {server.server}:{server.port} lets us in; no mail was sent"


def _push(garden: Garden, way: str) -> str:
    from steepwell.tell.pushing import known_service  # noqa: PLC0415 - loads what pushes

    known_service(garden, way)
    return "the address can be read and is understood; nothing was sent"


def _mirror(garden: Garden, now: datetime) -> str:
    from steepwell.mirror.server import MirrorServer  # noqa: PLC0415 - loads its client

    with MirrorServer(garden, now, patience_s=PATIENCE_S) as server:
        server.greet()
        return f"the server {server.where} takes what we send; nothing was"


def _page(garden: Garden, page: Page) -> str:
    """Return how the port is: ours if a daemon runs, free for it if none does."""
    here = "127.0.0.1" if page.host in {"0.0.0.0", "::"} else page.host  # noqa: S104 - compared
    where = f"{page.host}:{page.port}"
    if running_daemon(garden) is not None:
        try:
            socket.create_connection((here, page.port), timeout=PATIENCE_S).close()
        except OSError as error:
            raise CommandError(
                f"the daemon runs and nothing answers at {where} ({error.strerror or error}); see "
                "its log, and whether [page] was in the file when it started: steepwell reload"
            ) from None
        return f"it answers at {where}"
    family = socket.AF_INET6 if ":" in page.host else socket.AF_INET
    with closing(socket.socket(family)) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((page.host, page.port))
        except OSError as error:
            raise CommandError(
                f"it cannot listen at {where} ({error.strerror or error}); see whether another "
                "program does, and name another port under [page]"
            ) from None
    return f"{where} is free for it"
