"""What the journal says of a time and not of a moment: absences, orders, the garden's rest."""

from __future__ import annotations

from typing import TYPE_CHECKING

from steepwell.errors import JournalError
from steepwell.store.entry_kinds import Answered, Away, PutToBed, Restriction, Woken
from steepwell.words.saying import say

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import date, datetime

    from steepwell.store.entry_kinds import Entry


def away_on(entries: Iterable[Entry], day: date) -> Away | None:
    """Return the gardener's absence on a day, None if he is there.

    Parameters
    ----------
    entries
        The journal.
    day
        The local day.
    """
    return away_between(entries, day, day)


def away_between(entries: Iterable[Entry], first: date, last: date) -> Away | None:
    """Return the first absence that touches some days, None if none does.

    Parameters
    ----------
    entries
        The journal.
    first, last
        The local days.
    """
    away = (entry for entry in entries if isinstance(entry, Away))
    touching = [each for each in away if each.first <= last and first <= each.last]
    return min(touching, key=lambda each: each.first, default=None)


def rests(entries: Iterable[Entry], now: datetime) -> bool:
    """Return whether the garden was put to bed and is not woken yet.

    Parameters
    ----------
    entries
        The journal, in the order of what it tells.
    now
        The moment.
    """
    told = [e for e in entries if isinstance(e, PutToBed | Woken) and e.at <= now]
    return bool(told) and isinstance(told[-1], PutToBed)


def barred(entries: Iterable[Entry], day: date) -> frozenset[str]:
    """Return what orders bar on a day.

    Parameters
    ----------
    entries
        The journal.
    day
        The local day.

    Returns
    -------
    frozenset of str
        Some of ``tap``, ``hose`` and ``watering``.
    """
    return frozenset(
        what
        for entry in entries
        if isinstance(entry, Restriction)
        and entry.first <= day
        and (entry.last is None or day <= entry.last)
        for what in entry.bars
    )


def check_dated(
    entry: Restriction | Away | PutToBed | Woken | Answered, existing: Sequence[Entry]
) -> None:
    """Raise a JournalError if an entry of this kind cannot be.

    Parameters
    ----------
    entry
        The entry.
    existing
        What stands in the journal, in the order of what it tells.

    Raises
    ------
    JournalError
        If its days are the wrong way round, or the garden rests, or is awake, already.
    """
    if isinstance(entry, Answered):
        _check_answer(entry)
    elif isinstance(entry, Restriction | Away):
        if entry.last is not None and entry.last < entry.first:
            raise JournalError(say("refused.days-turned", last=entry.last, first=entry.first))
    elif isinstance(entry, PutToBed) and rests(existing, entry.at):
        raise JournalError(say("refused.rests"))
    elif isinstance(entry, Woken) and not rests(existing, entry.at):
        raise JournalError(say("refused.awake"))


def _check_answer(entry: Answered) -> None:
    if entry.answer != "later":
        if entry.until is not None:
            raise JournalError(say("refused.answer-with-day", answer=entry.answer))
    elif entry.until is None:
        raise JournalError(say("refused.later-without-day"))
    elif entry.until <= entry.at.date():
        raise JournalError(say("refused.not-later", day=entry.until))
