"""Lets in who is at this machine, and from beyond it whoever brings a token."""

from __future__ import annotations

import ipaddress
from dataclasses import dataclass, field
from datetime import timedelta
from threading import Lock
from typing import TYPE_CHECKING

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request

from steepwell.page.guard import LOOPBACK_NAMES, host_of
from steepwell.page.setting import answer_page

if TYPE_CHECKING:
    from datetime import datetime

    from starlette.datastructures import Headers
    from starlette.responses import Response
    from starlette.types import ASGIApp, Receive, Scope, Send

    from steepwell.page.desk import Desk

TOKEN_COOKIE = "steepwell"  # noqa: S105 - the name of the cookie, not what is in it
# What everybody may ask for: the style, the icon, what brings a token of its own in its address.
OPEN = ("/style-", "/icon.svg", "/enter/", "/done/", "/calendar/")
PASSED_ON = ("forwarded", "x-forwarded-for", "x-real-ip", "via")
MOST_WRONG = 10
WRONG_WITHIN = timedelta(minutes=10)
MOST_WATCHED = 1000


@dataclass(slots=True)
class WrongTokens:
    """Counts wrong tokens by where they came from, and says who has tried enough."""

    _seen: dict[str, list[datetime]] = field(default_factory=dict)
    _lock: Lock = field(default_factory=Lock)

    def note(self, client: str, now: datetime) -> None:
        """Note that a wrong token came."""
        with self._lock:
            recent = self._recent(client, now)
            self._seen.pop(client, None)
            self._seen[client] = [*recent, now][-MOST_WRONG:]
            if len(self._seen) > MOST_WATCHED:
                del self._seen[next(iter(self._seen))]

    def too_many(self, client: str, now: datetime) -> bool:
        """Return whether so many came that no more are looked at for some minutes."""
        with self._lock:
            return len(self._recent(client, now)) >= MOST_WRONG

    def _recent(self, client: str, now: datetime) -> list[datetime]:
        return [at for at in self._seen.get(client, []) if now - at < WRONG_WITHIN]


def neighbourhood(client: str) -> str:
    """Return what is one and the same caller: an IPv4 address, or the network of an IPv6 one."""
    try:
        address = ipaddress.ip_address(client)
    except ValueError:
        return client
    if isinstance(address, ipaddress.IPv6Address):
        return str(ipaddress.ip_network((address, 64), strict=False))
    return client


def is_here(client: str, headers: Headers) -> bool:
    """Return whether a request was made at this machine itself, by its own name.

    What another program on this machine passes on for somebody else does not count.
    """
    try:
        at_home = ipaddress.ip_address(client).is_loopback
    except ValueError:
        return False
    passed_on = any(name in headers for name in PASSED_ON)
    return at_home and host_of(headers.get("host", "")) in LOOPBACK_NAMES and not passed_on


def token_in(request: Request) -> str | None:
    """Return the token a request brings: a browser as a cookie, a program in its header."""
    scheme, _, given = request.headers.get("authorization", "").partition(" ")
    if scheme.lower() == "bearer" and given:
        return given.strip()
    return request.cookies.get(TOKEN_COOKIE)


class Gate:
    """Asks whoever is not at this machine for a token.

    Parameters
    ----------
    app
        What is behind it.
    """

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] == "http" and not scope["path"].startswith(OPEN):
            refusal = await self._refusal(Request(scope))
            if refusal is not None:
                await refusal(scope, receive, send)
                return
        await self._app(scope, receive, send)

    @staticmethod
    async def _refusal(request: Request) -> Response | None:
        if is_here(request.client.host if request.client else "", request.headers):
            return None
        token = token_in(request)
        if token is not None and await run_in_threadpool(is_invited, request, token):
            return None
        return turned_away(request)


def is_invited(request: Request, token: str) -> bool:
    """Return whether a token opens the page; a wrong one is counted."""
    desk: Desk = request.app.state.desk
    client, now = _caller(request), desk.clock.now()
    if desk.wrong_tokens.too_many(client, now):
        return False
    held = desk.store.invitations.holds(token)
    if not held:
        desk.wrong_tokens.note(client, now)
    return held


def count_wrong(request: Request) -> None:
    """Count a wrong token that came in an address; from whom enough came, no more is looked at.

    Raises
    ------
    HTTPException
        If enough came already.
    """
    desk: Desk = request.app.state.desk
    client, now = _caller(request), desk.clock.now()
    if desk.wrong_tokens.too_many(client, now):
        raise HTTPException(429, headers={"Retry-After": str(int(WRONG_WITHIN.total_seconds()))})
    desk.wrong_tokens.note(client, now)


def turned_away(request: Request) -> Response:
    """Return what whoever has no token is told."""
    desk: Desk = request.app.state.desk
    if desk.wrong_tokens.too_many(_caller(request), desk.clock.now()):
        answer = answer_page(request, "turned_away.html.j2", status=429, too_often=True)
        answer.headers["Retry-After"] = str(int(WRONG_WITHIN.total_seconds()))
        return answer
    answer = answer_page(request, "turned_away.html.j2", status=401, too_often=False)
    answer.headers["WWW-Authenticate"] = "Bearer"
    return answer


def _caller(request: Request) -> str:
    return neighbourhood(request.client.host if request.client else "")
