"""Which crop stands in a bed on a day, and how old it is."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from steepwell.garden.days import local_day
from steepwell.garden.tables import Crop, reference_tables
from steepwell.store.entries import Cleared, Entry, Planted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.garden.garden import Garden
    from steepwell.garden.growing import Bed, Growing

MIXED = "mixed-vegetables"


@dataclass(frozen=True, slots=True)
class Stay:
    """A crop's time in a bed, both days included.

    Attributes
    ----------
    crop
        Its name in the crop table.
    planted, last
        First and last day.
    full_grown
        Whether it is always in mid-season, as a bed is of which no crops are known.
    """

    crop: str
    planted: date
    last: date
    full_grown: bool = False

    @property
    def table(self) -> Crop:
        """The crop's row in the crop table."""
        return reference_tables().crop(self.crop)

    def age_d(self, day: date) -> int:
        """Return the days since planting."""
        return (day - self.planted).days


def standing_on(garden: Garden, bed: Bed, day: date, entries: Sequence[Entry] = ()) -> Stay | None:
    """Return the crop that stands in a bed.

    Parameters
    ----------
    garden
        The garden, for its time zone.
    bed
        The bed as declared.
    day
        The day.
    entries
        The journal; entries of other beds are passed over.

    Returns
    -------
    Stay or None
        The crop planted last; None where nothing stands.
    """
    stays = [s for s in bed_stays(garden, bed, day, day, entries) if s.planted <= day <= s.last]
    return stays[-1] if stays else None


def bed_stays(
    garden: Garden, bed: Bed, first: date, last: date, entries: Sequence[Entry] = ()
) -> list[Stay]:
    """Return the crops that stand in a bed at some time between two days.

    A bed without crops named is taken as mixed vegetables in full growth all year. What the
    journal says was planted or cleared goes before what the garden file says.

    Parameters
    ----------
    garden
        The garden, for its time zone.
    bed
        The bed as declared.
    first, last
        The days.
    entries
        The journal; entries of other beds are passed over.

    Returns
    -------
    list of Stay
        In order of planting.
    """
    here = [e for e in entries if isinstance(e, (Planted, Cleared)) and e.bed == bed.name]
    if not bed.crops and not here:
        stages = reference_tables().crop(MIXED).stage_days
        planted = first - timedelta(days=stages[0] + stages[1])
        return [Stay(MIXED, planted, last, full_grown=True)]
    cleared = sorted(local_day(garden, e.at) for e in here if isinstance(e, Cleared))
    stays = [
        stay
        for growing in bed.crops
        for year in range(first.year - 1, last.year + 1)
        for stay in [_declared(growing, year)]
    ]
    stays += [_noted(e.crop, local_day(garden, e.at)) for e in here if isinstance(e, Planted)]
    stays = [_ended(stay, cleared) for stay in stays]
    stays = [stay for stay in stays if stay.planted <= last and stay.last >= first]
    return sorted(stays, key=lambda stay: stay.planted)


def _declared(growing: Growing, year: int) -> Stay:
    planted = _in_year(growing.planted, year)
    if growing.cleared is None:
        length = reference_tables().crop(growing.crop).curve.length_d
        return Stay(growing.crop, planted, planted + timedelta(days=length))
    last = _in_year(growing.cleared, year)
    return Stay(
        growing.crop, planted, last if last > planted else _in_year(growing.cleared, year + 1)
    )


def _noted(crop: str, planted: date) -> Stay:
    length = reference_tables().crop(crop).curve.length_d
    return Stay(crop, planted, planted + timedelta(days=length))


def _ended(stay: Stay, cleared: Sequence[date]) -> Stay:
    within = [day for day in cleared if stay.planted < day <= stay.last]
    return Stay(stay.crop, stay.planted, within[0]) if within else stay


def _in_year(month_day: str, year: int) -> date:
    try:
        return date.fromisoformat(f"{year:04d}-{month_day}")
    except ValueError:
        return date(year, 3, 1)
