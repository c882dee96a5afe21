"""Journal entries as people and programs send them, a level in words among them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from steepwell.errors import JournalError
from steepwell.sense.hand import is_rough, level_in_litres
from steepwell.store.entries import Entry, parse_entry

if TYPE_CHECKING:
    from datetime import datetime

    from steepwell.garden.garden import Garden
    from steepwell.store.journal import Journal

_TURNS = ("steep-started", "vessel-emptied")
# What was sick when it was cleared stays out of a vessel.
_MATTER = (*_TURNS, "planted", "cleared")

# What is in a vessel, and whether it was seen to be ready.
_CONTENTS = (*_TURNS, "drawn-off", "decanted", "topped-up", "ready-confirmed")

_KINDS: dict[str, tuple[str, ...] | None] = {
    "corrected": None,
    "drawn-off": _CONTENTS,
    "decanted": _CONTENTS,
    "topped-up": (*_CONTENTS, "planted", "cleared"),
    "fed": _CONTENTS,
    "steep-started": _MATTER,
    "filled-to": ("filled-to",),
    "put-to-bed": ("put-to-bed", "woken"),
    "woken": ("put-to-bed", "woken"),
}


def entry_from(raw: object, garden: Garden, now: datetime, journal: Journal) -> Entry:
    """Read an entry and check it against the garden and the journal.

    Parameters
    ----------
    raw
        The entry as it came; a level-read may carry ``text`` instead of ``litres``.
    garden
        The garden it is about.
    now
        Aware datetime; an entry without ``at`` happened now.
    journal
        What was noted before.

    Returns
    -------
    Entry
        Fit for the journal.

    Raises
    ------
    JournalError
        If it cannot be; the message says what is so and what to do.
    """
    if not isinstance(raw, dict):
        raise JournalError("a journal entry is one JSON object; write it between { and }")
    kinds = _KINDS.get(str(raw.get("kind")), _TURNS)
    existing = journal.entries(now, kinds=kinds)
    return parse_entry(_with_litres(raw, garden), garden, now, existing)


def _with_litres(raw: dict[str, Any], garden: Garden) -> dict[str, Any]:
    text = raw.get("text")
    if raw.get("kind") != "level-read" or not isinstance(text, str):
        return raw
    if "litres" in raw:
        raise JournalError("a level is read in words or in litres; give either 'text' or 'litres'")
    butt = next((butt for butt in garden.butt if butt.name == raw.get("butt")), None)
    rest = {key: value for key, value in raw.items() if key != "text"}
    if butt is None:
        return {**rest, "litres": 0.0}
    return {**rest, "litres": level_in_litres(text, butt), "rough": is_rough(text)}
