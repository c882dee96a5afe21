"""What can be cut for a vessel on a day: leaves to spare of crops, and wild plants."""

from __future__ import annotations

from typing import TYPE_CHECKING

from steepwell.outlook.calendar import standing_on

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from steepwell.garden.garden import Garden
    from steepwell.store.entries import Entry

# Weeds and nettles can be cut from April to October.
WILD_MONTHS = range(4, 11)


def wild_grows(garden: Garden, day: date) -> bool:
    """Return whether wild plants can be cut on a day."""
    return garden.garden.northern_month(day) in WILD_MONTHS


def crops_to_spare(
    garden: Garden, day: date, entries: Sequence[Entry], crops: Sequence[str]
) -> list[str]:
    """Return which of some crops have leaves to spare on a day: from mid-season on.

    Parameters
    ----------
    garden
        The garden.
    day
        The day.
    entries
        The journal, for what was planted and cleared.
    crops
        The crops that are looked for.

    Returns
    -------
    list of str
        Those that stand in a bed and are grown.
    """
    found = []
    for bed in garden.bed:
        stay = standing_on(garden, bed, day, entries)
        if stay is not None and stay.crop in crops:
            grown_d = sum(stay.table.stage_days[:2])
            found += [stay.crop] if stay.age_d(day) >= grown_d else []
    return list(dict.fromkeys(found))
