"""``steepwell page``: who may see the page from beyond this machine."""

from __future__ import annotations

import io
import socket
from typing import TYPE_CHECKING, Any

from steepwell.errors import CommandError
from steepwell.page.guard import LOOPBACK_NAMES
from steepwell.store.store import garden_store_url, open_store
from steepwell.words.saying import say

if TYPE_CHECKING:
    from datetime import datetime

    from steepwell.garden.garden import Garden
    from steepwell.garden.site import Page

ANY_ADDRESS = ("0.0.0.0", "::")  # noqa: S104 - compared with, not listened on

Json = dict[str, Any]


def page_report(
    garden: Garden, now: datetime, *, invite: bool = False, withdraw: int | None = None
) -> Json:
    """Return where the page is and who is invited, after inviting or withdrawing.

    Parameters
    ----------
    garden
        The garden; its store is made if there is none yet.
    now
        The moment.
    invite
        Whether to make an invitation.
    withdraw
        The number of an invitation to withdraw, or None.

    Returns
    -------
    dict
        ``address``, ``invitations``, and ``invitation``, an address with a token, where one was
        made.

    Raises
    ------
    CommandError
        If there is no page, nobody could reach it, or there is no such invitation.
    """
    if garden.page is None:
        raise CommandError("there is no [page] in the garden file; a line [page] is enough")
    address = reached_at(garden.page)
    if invite and garden.page.host in LOOPBACK_NAMES and garden.page.address is None:
        raise CommandError(
            'the page is there for this machine alone; write host = "0.0.0.0" under [page], '
            "start the daemon anew, and invite again"
        )
    with open_store(garden_store_url(garden), garden) as store:
        if withdraw is not None and not store.invitations.withdraw(withdraw, now):
            raise CommandError(
                f"no invitation {withdraw} stands; steepwell page tells those that do"
            )
        token = store.invitations.add(now) if invite else None
        stand = [each for each in store.invitations.all() if each.withdrawn is None]
    zone = garden.garden.zone
    return {
        "address": address,
        "invitation": None if token is None else f"{address}/enter/{token}",
        "invitations": [
            {"number": each.id, "made": each.made.astimezone(zone).date().isoformat()}
            for each in stand
        ],
    }


def reached_at(settings: Page) -> str:
    """Return the address phones reach the page by, as far as it is known here."""
    if settings.address is not None:
        return settings.address
    host = settings.host
    if host in ANY_ADDRESS:
        host = f"{socket.gethostname()}.local"
    if host in LOOPBACK_NAMES:
        host = "localhost"
    return f"http://{f'[{host}]' if ':' in host else host}:{settings.port}"


def page_screen(report: Json) -> str:
    """Return the answer of ``steepwell page``."""
    lines = [say("inviting.at", address=report["address"])]
    if report["invitation"] is not None:
        number = report["invitations"][-1]["number"]
        lines = [
            say("inviting.invitation", number=number),
            report["invitation"],
            "",
            qr_code(report["invitation"]),
            say("inviting.until", number=number),
        ]
        return "\n".join(lines)
    if not report["invitations"]:
        lines.append(say("inviting.nobody"))
    lines += [
        f"  {say('inviting.one', number=each['number'], day=each['made'])}"
        for each in report["invitations"]
    ]
    return "\n".join(lines)


def qr_code(text: str) -> str:
    """Return a QR code in characters, dark on the light of its own."""
    import segno  # noqa: PLC0415 - only who invites needs it

    drawn = io.StringIO()
    segno.make_qr(text, error="l").terminal(drawn, compact=True)
    return drawn.getvalue()
