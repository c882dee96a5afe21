"""Reads journal entries from what a person or another program wrote."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Any, get_args

from pydantic import TypeAdapter, ValidationError

from steepwell.errors import JournalError
from steepwell.store.entry_base import Matter
from steepwell.store.entry_checks import check_names, check_sense
from steepwell.store.entry_kinds import (
    Answered,
    Away,
    BeanTest,
    ButtEmptied,
    Cleared,
    ConductivityMeasured,
    Corrected,
    Decanted,
    DrawnOff,
    Entry,
    Fed,
    FilledTo,
    JobDone,
    JobNotDone,
    LevelRead,
    LooksHungry,
    Mulched,
    NotWatered,
    Picking,
    Planted,
    PutToBed,
    RainRead,
    ReadyConfirmed,
    Restriction,
    SicknessSeen,
    SteepStarted,
    TapWaterAdded,
    TemperatureRead,
    TooStrong,
    ToppedUp,
    VesselEmptied,
    Watered,
    Woken,
)
from steepwell.store.later_checks import check_later
from steepwell.words.figures import listed
from steepwell.words.saying import say

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from pydantic_core import ErrorDetails

    from steepwell.garden.garden import Garden

__all__ = [
    "Answered",
    "Away",
    "BeanTest",
    "ButtEmptied",
    "Cleared",
    "ConductivityMeasured",
    "Corrected",
    "Decanted",
    "DrawnOff",
    "Entry",
    "Fed",
    "FilledTo",
    "JobDone",
    "JobNotDone",
    "LevelRead",
    "LooksHungry",
    "Matter",
    "Mulched",
    "NotWatered",
    "Picking",
    "Planted",
    "PutToBed",
    "RainRead",
    "ReadyConfirmed",
    "Restriction",
    "SicknessSeen",
    "SteepStarted",
    "TapWaterAdded",
    "TemperatureRead",
    "TooStrong",
    "ToppedUp",
    "VesselEmptied",
    "Watered",
    "Woken",
    "parse_entry",
]

CLOCKS_DIFFER = timedelta(minutes=10)

KINDS: tuple[str, ...] = tuple(
    model.model_fields["kind"].default for model in get_args(get_args(Entry)[0])
)

_ENTRY: TypeAdapter[Entry] = TypeAdapter(Entry)


def parse_entry(
    raw: dict[str, Any], garden: Garden, now: datetime, existing: Sequence[Entry]
) -> Entry:
    """Read a journal entry and check that it can be.

    Parameters
    ----------
    raw
        The entry as it came; without ``at`` it happened now.
    garden
        The garden it is about.
    now
        Aware datetime. A time up to ten minutes ahead, from another clock, becomes ``now``.
    existing
        What stands in the journal, in the order of what it tells.

    Returns
    -------
    Entry
        Fit for the journal.

    Raises
    ------
    JournalError
        If it cannot be; the message says what is so and what to do.
    """
    entry = read_entry(raw, now)
    check_entry(entry, garden, existing)
    return entry


def read_entry(raw: dict[str, Any], now: datetime) -> Entry:
    """Read a journal entry that may not fit the journal; see ``parse_entry``.

    Parameters
    ----------
    raw
        The entry as it came.
    now
        Aware datetime.

    Returns
    -------
    Entry
        As it says.

    Raises
    ------
    JournalError
        If it is none, or of a time to come.
    """
    if "id" in raw:
        raise JournalError(say("refused.own-id"))
    try:
        entry = _ENTRY.validate_python({"at": now, **raw})
    except ValidationError as error:
        raise JournalError(_in_words(error.errors(include_url=False)[0])) from None
    if now < entry.at <= now + CLOCKS_DIFFER:
        entry = entry.model_copy(update={"at": now})
    elif entry.at > now:
        raise JournalError(say("refused.in-future", moment=f"{entry.at:%Y-%m-%d %H:%M}"))
    return entry


def check_entry(entry: Entry, garden: Garden, existing: Sequence[Entry]) -> None:
    """Raise a JournalError if an entry does not fit the garden or what stands in the journal."""
    check_names(entry, garden, existing)
    check_sense(entry, garden, existing)
    check_later(entry, garden, existing)


def _in_words(detail: ErrorDetails) -> str:
    kind, where = detail["type"], ".".join(str(step) for step in detail["loc"][1:])
    if kind in {"union_tag_not_found", "union_tag_invalid"}:
        return say("refused.no-kind", kinds=listed(list(KINDS)))
    if where.startswith("matter.") and where.endswith(".plant"):
        where = say("refused.a-plant")
    if kind == "missing":
        return say("refused.missing", what=where)
    if kind in {"too_short", "string_too_short"}:
        return say("refused.empty", what=where)
    if kind == "extra_forbidden":
        return say("refused.extra", what=where)
    if kind == "timezone_aware":
        return say("refused.zone-wanted", what=where)
    message = detail["msg"].removeprefix("Input should be ")
    if kind.startswith("date_"):
        message = say("refused.a-day")
    return say(
        "refused.should-be", what=where, wanted=message, found=repr(str(detail["input"])[:60])
    )
