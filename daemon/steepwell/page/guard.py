"""What stands before every part of the page: who is spoken to, how much may come, what may load."""

from __future__ import annotations

import ipaddress
import socket
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.exceptions import HTTPException
from starlette.responses import PlainTextResponse

from steepwell.words.saying import say

if TYPE_CHECKING:
    from collections.abc import Set as AbstractSet

    from starlette.types import ASGIApp, Message, Receive, Scope, Send

    from steepwell.garden.site import Page

MOST_BYTES = 64 * 1024
LOOPBACK_NAMES = frozenset({"localhost", "127.0.0.1", "::1"})

_NOTHING_FROM_ELSEWHERE = (
    "default-src 'none'; style-src 'self'; img-src 'self'; form-action 'self'; "
    "base-uri 'none'; frame-ancestors 'none'"
)
HEADERS = {
    "Content-Security-Policy": _NOTHING_FROM_ELSEWHERE,
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    # Not "no-referrer", with which a browser hides where our own forms come from.
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cache-Control": "no-store",
}


def names_answered(settings: Page, machine: str) -> frozenset[str]:
    """Return the names under which the page may be asked for.

    Parameters
    ----------
    settings
        Where it listens.
    machine
        The name of this machine.

    Returns
    -------
    frozenset of str
        In small letters.
    """
    names = {*LOOPBACK_NAMES, settings.host.lower()}
    if settings.host not in LOOPBACK_NAMES:
        names |= {machine.lower(), f"{machine.lower()}.local"}
    if settings.address is not None:
        names.add(str(urlsplit(settings.address).hostname))
    return frozenset(names)


def host_of(header: str) -> str:
    """Return the name or address in a Host header, without its port; empty if it is none."""
    try:
        return urlsplit(f"//{header}").hostname or ""
    except ValueError:
        return ""


def is_answered(header: str, names: AbstractSet[str]) -> bool:
    """Return whether a request for this host is for us.

    A page elsewhere can have its own name lead here, and so read what is ours as if it were its
    own. It cannot do that with a bare address, nor with a name that we know.
    """
    host = host_of(header)
    if host in names:
        return True
    try:
        ipaddress.ip_address(host)
    except ValueError:
        return False
    return not names <= LOOPBACK_NAMES


class Guard:
    """Refuses what is not for us or too large, and says what a browser may do with our answers.

    Parameters
    ----------
    app
        What is guarded.
    settings
        Where the page listens.
    """

    def __init__(self, app: ASGIApp, settings: Page) -> None:
        self._app = app
        self._names = names_answered(settings, socket.gethostname())

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return

        async def send_guarded(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers.setdefault(name, value)
            await send(message)

        refusal = self._refusal(Headers(scope=scope))
        if refusal is not None:
            await refusal(scope, receive, send_guarded)
        else:
            await self._app(scope, _Limited(receive), send_guarded)

    def _refusal(self, headers: Headers) -> PlainTextResponse | None:
        if not is_answered(headers.get("host", ""), self._names):
            return PlainTextResponse(f"{say('guard.other-name')}\n", 421)
        length = headers.get("content-length", "0")
        if not length.isdecimal() or int(length) > MOST_BYTES:
            return PlainTextResponse(f"{say('guard.too-much')}\n", 413)
        return None


class _Limited:
    """Hands out the body of a request, and ends it when it is longer than any of ours can be."""

    def __init__(self, receive: Receive) -> None:
        self._receive = receive
        self._got = 0

    async def __call__(self) -> Message:
        message = await self._receive()
        self._got += len(message.get("body", b""))
        if self._got > MOST_BYTES:
            raise HTTPException(413, say("guard.too-much"))
        return message
