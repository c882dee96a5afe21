"""Whether what was noted of a vessel still can be when something before it changes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from steepwell.errors import JournalError
from steepwell.store.entry_checks import check_sense
from steepwell.store.entry_kinds import (
    Decanted,
    DrawnOff,
    Entry,
    SteepStarted,
    ToppedUp,
    VesselEmptied,
)
from steepwell.words.saying import say

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.garden.garden import Garden

# What changes what a vessel holds from then on.
_CHANGES = (SteepStarted, VesselEmptied, DrawnOff, Decanted, ToppedUp)


def check_later(entry: Entry, garden: Garden, existing: Sequence[Entry]) -> None:
    """Raise a JournalError if an entry with an earlier date makes a later one impossible."""
    if not isinstance(entry, _CHANGES) or not existing or entry.at >= existing[-1].at:
        return
    after = sorted([*existing, entry], key=lambda one: one.at)
    doubt = doubt_about(entry.vessel, garden, existing, after)
    if doubt is not None:
        raise JournalError(say("refused.one-of-two", doubt=doubt))


def doubt_about(
    vessel: str, garden: Garden, before: Sequence[Entry], after: Sequence[Entry]
) -> str | None:
    """Return the first entry on a vessel that fits one journal and no longer the other.

    Parameters
    ----------
    vessel
        Name of the vessel.
    garden
        The garden.
    before, after
        The journal as it was, and as it would be or is now, in the order of what it tells.

    Returns
    -------
    str or None
        Which entry that is and why it cannot be; None where all fit as before.
    """
    for later in before:
        if getattr(later, "vessel", None) != vessel or later not in after:
            continue
        why = _why_not(later, garden, after)
        if why is not None and _why_not(later, garden, before) is None:
            return say(
                "refused.later-cannot-be",
                kind=later.kind,
                day=later.at.date(),
                number=later.id,
                why=why,
            )
    return None


def _why_not(entry: Entry, garden: Garden, journal: Sequence[Entry]) -> str | None:
    try:
        check_sense(entry, garden, [other for other in journal if other != entry])
    except JournalError as error:
        return str(error)
    return None
