"""The garden's calendar under an address that only reads."""

from __future__ import annotations

import hashlib
import secrets
from typing import TYPE_CHECKING, Any

from starlette.exceptions import HTTPException
from starlette.responses import Response

from steepwell.errors import CommandError
from steepwell.page.desk import desk_of
from steepwell.page.gate import count_wrong
from steepwell.page.inviting import reached_at
from steepwell.store.store import garden_store_url, open_store
from steepwell.tell.documents import Outlook, Plan
from steepwell.tell.links import CALENDAR_LINKS, calendar_token
from steepwell.words.saying import say

if TYPE_CHECKING:
    from starlette.requests import Request

    from steepwell.garden.garden import Garden

Json = dict[str, Any]

TYPE = "text/calendar; charset=utf-8"


def calendar(request: Request) -> Response:
    """Answer with the calendar, or that nothing changed since it was last asked for."""
    from steepwell.tell.calendar import calendar_of  # noqa: PLC0415 - few gardens ask for it

    desk = desk_of(request)
    secret = desk.store.secrets.known(CALENDAR_LINKS)
    token = request.path_params["token"]
    if secret is None or not secrets.compare_digest(
        token.encode(), calendar_token(desk.garden.name, secret).encode()
    ):
        count_wrong(request)
        raise HTTPException(404)
    now = desk.clock.now()
    plan = desk.store.results.latest("plan", now)
    outlook = desk.store.results.latest("outlook", now)
    content = calendar_of(
        desk.garden,
        Plan.model_validate(plan) if plan is not None else None,
        Outlook.model_validate(outlook) if outlook is not None else None,
    )
    mark = f'"{hashlib.sha256(content).hexdigest()[:32]}"'
    headers = {"ETag": mark, "Cache-Control": "private, no-cache"}
    if request.headers.get("if-none-match") == mark:
        return Response(status_code=304, headers=headers)
    headers["Content-Disposition"] = f'inline; filename="{desk.garden.name}.ics"'
    return Response(content, headers=headers, media_type=TYPE)


def subscribed_at(request: Request) -> str:
    """Return the address by which a phone subscribes to the calendar instead of copying it once."""
    desk = desk_of(request)
    token = calendar_token(desk.garden.name, desk.store.secrets.made(CALENDAR_LINKS))
    return f"webcal://{request.url.netloc}/calendar/{token}.ics"


def calendar_report(garden: Garden, *, renew: bool = False) -> Json:
    """Return where to subscribe to the calendar.

    Parameters
    ----------
    garden
        The garden; its store is made if there is none yet.
    renew
        Whether to make a new address, so that the old one answers nobody.

    Returns
    -------
    dict
        ``address``.

    Raises
    ------
    CommandError
        If there is no page to ask.
    """
    if garden.page is None:
        raise CommandError("there is no [page] in the garden file; a line [page] is enough")
    with open_store(garden_store_url(garden), garden) as store:
        kept = store.secrets
        secret = kept.renewed(CALENDAR_LINKS) if renew else kept.made(CALENDAR_LINKS)
    token = calendar_token(garden.name, secret)
    return {"address": f"{reached_at(garden.page)}/calendar/{token}.ics"}


def calendar_screen(report: Json) -> str:
    """Return the answer of ``steepwell calendar``."""
    return (
        f"{say('calendar-page.subscribe', address=report['address'])}\n{say('calendar-page.who')}"
    )
