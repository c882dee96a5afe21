"""What may go into a vessel, and what stays out."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from steepwell.errors import JournalError
from steepwell.garden.tables import reference_tables
from steepwell.store.entry_kinds import Cleared, Planted
from steepwell.words.saying import say

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import datetime

    from steepwell.garden.garden import Garden
    from steepwell.store.entry_base import Matter
    from steepwell.store.entry_kinds import Entry

# What was cleared sick lies about for so long.
LIES_ABOUT = timedelta(days=14)


def check_matter(
    matter: Iterable[Matter], garden: Garden, existing: Sequence[Entry], at: datetime
) -> None:
    """Raise a JournalError if matter is sick, poisonous, or otherwise stays out of a vessel.

    Parameters
    ----------
    matter
        What is to go in.
    garden
        The garden, for what grows in its beds.
    existing
        The journal.
    at
        When.

    Raises
    ------
    JournalError
        The message says why it stays out and what to do with it.
    """
    for each in matter:
        kept_out = reference_tables().never_in(each.plant)
        if kept_out is not None:
            raise JournalError(say("refused.never-in", plant=each.plant, because=kept_out.because))
        if not each.healthy:
            raise JournalError(say("refused.sick", plant=each.plant))
        sick = _cleared_sick(each.plant, garden, existing, at)
        if sick is not None:
            raise JournalError(
                say("refused.cleared-sick", plant=each.plant, bed=sick.bed, day=sick.at.date())
            )


def _cleared_sick(
    plant: str, garden: Garden, existing: Sequence[Entry], at: datetime
) -> Cleared | None:
    """Return how a plant was cleared last, if that was sick and not long ago."""
    growing = {bed.name: {each.crop for each in bed.crops} for bed in garden.bed}
    last: Cleared | None = None
    for entry in existing:
        if entry.at > at:
            continue
        if isinstance(entry, Planted):
            growing.setdefault(entry.bed, set()).add(entry.crop)
        if isinstance(entry, Cleared) and plant in growing.get(entry.bed, ()):
            last = entry
    if last is None or last.healthy or at - last.at > LIES_ABOUT:
        return None
    return last
