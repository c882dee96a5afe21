"""What was noted in the last weeks, each entry to be withdrawn by one tap."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from typing import TYPE_CHECKING

from steepwell.note_words import what_changed
from steepwell.page.desk import desk_of
from steepwell.page.facts import LOOKS_BACK
from steepwell.page.setting import answer_page
from steepwell.tell.wording import sentence
from steepwell.words.figures import day

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import tzinfo

    from starlette.requests import Request
    from starlette.responses import Response

    from steepwell.store.entries import Entry

MOST_SHOWN = 100


@dataclass(frozen=True, slots=True)
class Noted:
    """An entry as it is shown: its number, when it was, and what it changed."""

    number: int
    when: str
    said: str


def journal(request: Request) -> Response:
    """Answer with what was noted in the last weeks, the newest first."""
    desk = desk_of(request)
    now = desk.clock.now()
    entries = desk.store.journal.entries(now, since=now - LOOKS_BACK)
    shown = [noted(entry, desk.garden.garden.zone) for entry in reversed(entries[-MOST_SHOWN:])]
    return answer_page(request, "journal.html.j2", entries=shown, mark=secrets.token_urlsafe(8))


def just_noted(number: str, entries: Sequence[Entry], zone: tzinfo) -> Noted | None:
    """Return the entry of a number if it stands, for who has just written it."""
    if not number.isdecimal():
        return None
    return next((noted(entry, zone) for entry in entries if entry.id == int(number)), None)


def noted(entry: Entry, zone: tzinfo) -> Noted:
    """Return an entry as it is shown."""
    at = entry.at.astimezone(zone)
    return Noted(entry.id or 0, f"{day(at.date())}, {at:%H:%M}", sentence(what_changed(entry)))
