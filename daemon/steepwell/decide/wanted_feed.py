"""Which feeds the beds will want in the year ahead: for which crops, from when, how much."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from steepwell.model.dilution import LADDER, dose_l, rung, told_dilution
from steepwell.outlook.calendar import bed_stays

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from steepwell.garden.garden import Garden
    from steepwell.outlook.calendar import Stay
    from steepwell.store.entries import Entry

YEAR_D = 365
# Buckets of plants that a cleared bed gives, and that ten litres of feed want; from memory.
BUCKETS_A_M2 = 1.0
LITRES_A_BUCKET = 10.0


@dataclass(frozen=True, slots=True)
class WantedFeed:
    """A feed of one crop, or of a family, that beds will want.

    Attributes
    ----------
    name
        The crop, or the family where several share one.
    family
        Its family.
    crops
        The crops it is for.
    feeds
        The days on which a bed is due, in order.
    cleared
        The next day on which matter for it is cleared from a bed, None if none is.
    cleared_bed
        That bed.
    buckets
        What that bed gives [buckets].
    """

    name: str
    family: str
    crops: tuple[str, ...]
    feeds: tuple[date, ...]
    cleared: date | None
    cleared_bed: str | None
    buckets: float

    @property
    def untested(self) -> bool:
        """Whether crops share it, which common practice has not tried."""
        return len(self.crops) > 1

    def litres(self, can_l: float, begun: date, ladder: Sequence[int] = LADDER) -> float:
        """Return what the feeds take of a steep begun on a day, each at its dilution then [L]."""
        return sum(
            dose_l(can_l, rung(float(told_dilution(age_d, age_d)), ladder))
            for age_d in (float(max((day - begun).days, 14)) for day in self.feeds)
        )


def wanted_feeds(
    garden: Garden, entries: Sequence[Entry], today: date, *, by_family: bool
) -> list[WantedFeed]:
    """Return the feeds that beds will want within a year, the one wanted first in front.

    Parameters
    ----------
    garden
        The garden.
    entries
        The journal.
    today
        The first day.
    by_family
        Whether crops of a family share one.

    Returns
    -------
    list of WantedFeed
        Beds of which no crop is known want none of their own.
    """
    stays = [
        (bed.name, bed.area, stay)
        for bed in garden.bed
        for stay in bed_stays(garden, bed, today, today + timedelta(days=YEAR_D), entries)
        if not stay.full_grown
    ]
    names = {_name(stay, by_family=by_family): stay.table.family for _, _, stay in stays}
    found = []
    for name, family in names.items():
        own = [each for each in stays if _name(each[2], by_family=by_family) == name]
        feeds = sorted(day for _, _, stay in own for day in _feeds(stay, today))
        if not feeds:
            continue
        cleared = [each for each in own if each[2].last >= today]
        first = min(cleared, key=lambda each: each[2].last, default=None)
        found.append(
            WantedFeed(
                name,
                family,
                tuple(dict.fromkeys(stay.crop for _, _, stay in own if _feeds(stay, today))),
                tuple(feeds),
                None if first is None else first[2].last,
                None if first is None else first[0],
                0.0 if first is None else BUCKETS_A_M2 * first[1],
            )
        )
    return sorted(found, key=lambda each: each.feeds[0])


def _name(stay: Stay, *, by_family: bool) -> str:
    return stay.table.family if by_family else stay.crop


def _feeds(stay: Stay, today: date) -> Iterable[date]:
    """Return the days on which a crop is due from a day on, within a year."""
    window = stay.table.feeding
    if window.first_day is None:
        return []
    last_day = stay.age_d(stay.last) if window.last_day is None else window.last_day
    end = min(stay.planted + timedelta(days=last_day), stay.last, today + timedelta(days=YEAR_D))
    day = stay.planted + timedelta(days=window.first_day)
    days = []
    while day <= end:
        days += [day] if day > today else []
        day += timedelta(days=window.every_days)
    return days
