"""Which vessels are locked, for which beds and how long: a fold over the journal."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Literal

from steepwell.garden.days import local_day
from steepwell.garden.tables import reference_tables
from steepwell.outlook.calendar import bed_stays
from steepwell.store.entries import BeanTest, Cleared, Entry, SicknessSeen
from steepwell.store.steeps import steep_in
from steepwell.words.figures import day as on
from steepwell.words.figures import spoken
from steepwell.words.saying import say

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import datetime

    from steepwell.garden.garden import Garden
    from steepwell.store.entries import Matter

CLIPPINGS = "grass-clippings"
# Bought in, or cut who knows where.
DOUBTFUL = ("hay", "straw")
# What a bed gave goes into a vessel within so many days.
LIES_ABOUT_D = 14
SOW_WITHIN_D = 7


@dataclass(frozen=True, slots=True)
class Lock:
    """What a vessel must not be used for.

    Attributes
    ----------
    vessel
        The vessel.
    bars
        All beds, those of some families, or all but grass.
    families
        Those families.
    until
        The day from which it is free again; None for as long as it stands.
    because
        Why, in a few words.
    test_by
        The day by which beans are to be sown to find out; None where no test helps.
    """

    vessel: str
    bars: Literal["all", "family", "all-but-grass"]
    because: str
    families: tuple[str, ...] = ()
    until: date | None = None
    test_by: date | None = None

    def keeps_from(self, family: str) -> bool:
        """Return whether a bed with a crop of some family gets none of it."""
        if self.bars == "family":
            return family in self.families
        return self.bars == "all" or family != plant_family(CLIPPINGS)


def locks_on(garden: Garden, entries: Sequence[Entry], today: date) -> list[Lock]:
    """Return the locks that stand on a day.

    Parameters
    ----------
    garden
        The garden.
    entries
        The journal.
    today
        The day.

    Returns
    -------
    list of Lock
        Those of each vessel, in the order of the garden file.
    """
    seen = [lock for entry in entries for lock in _sick_locks(garden, entries, entry)]
    of_vessel: dict[str | None, list[Entry]] = {vessel.name: [] for vessel in garden.vessel}
    for entry in entries:
        of_vessel.get(getattr(entry, "vessel", None), []).append(entry)
    return [
        lock
        for vessel in garden.vessel
        for lock in [
            *(lock for lock in seen if lock.vessel == vessel.name),
            *_weedkiller_locks(garden, of_vessel[vessel.name], vessel.name, today),
        ]
        if lock.until is None or lock.until > today
    ]


def barring(locks: Iterable[Lock], vessel: str, family: str) -> Lock | None:
    """Return a lock that keeps a vessel's feed from a family, or None."""
    return next((k for k in locks if k.vessel == vessel and k.keeps_from(family)), None)


def plant_family(plant: str) -> str:
    """Return the family of a plant; one that no table knows is of no family but its own."""
    try:
        return reference_tables().plant_family(plant)
    except ValueError:
        return plant


def _sick_locks(garden: Garden, entries: Sequence[Entry], entry: Entry) -> list[Lock]:
    """Return the locks that come of one entry, if it tells of a sickness."""
    if isinstance(entry, Cleared) and not entry.healthy:
        if _was_named(entries, entry):
            return []
        sickness, vessel = "unknown", None
    elif isinstance(entry, SicknessSeen):
        sickness, vessel = entry.sickness, entry.vessel
    else:
        return []
    day = local_day(garden, entry.at)
    locks = []
    if vessel is not None:
        held = matter_in(entries, vessel, entry.at)
        families = tuple(dict.fromkeys(_family(each) for _, each in held))
        why = say("locks.found-in-it", sickness=_said(sickness), day=on(day))
        locks.append(_sick_lock(vessel, sickness, families, why, day))
    if entry.bed is not None:
        locks += _of_bed(garden, entries, entry.bed, sickness, day)
    return locks


def _was_named(entries: Sequence[Entry], cleared: Cleared) -> bool:
    """Return whether it was said not long before what a bed was sick of, which locks by itself."""
    return any(
        isinstance(other, SicknessSeen)
        and other.bed == cleared.bed
        and timedelta(0) <= cleared.at - other.at <= timedelta(days=LIES_ABOUT_D)
        for other in entries
    )


def _of_bed(
    garden: Garden, entries: Sequence[Entry], name: str, sickness: str, day: date
) -> list[Lock]:
    """Return a lock for each vessel that may hold what grew in a sick bed."""
    bed = next((bed for bed in garden.bed if bed.name == name), None)
    stays = [] if bed is None else bed_stays(garden, bed, day - timedelta(days=1), day, entries)
    locks = []
    for stay in stays:
        last = max(day, stay.last) + timedelta(days=LIES_ABOUT_D)
        for vessel in garden.vessel:
            given = [
                each
                for at, each in matter_in(entries, vessel.name, None)
                if each.plant == stay.crop and stay.planted <= local_day(garden, at) <= last
            ]
            if given:
                why = say(
                    "locks.seen-in-bed",
                    sickness=_said(sickness),
                    bed=spoken(name),
                    day=on(day),
                    crop=spoken(stay.crop),
                )
                families = (stay.table.family,)
                locks.append(_sick_lock(vessel.name, sickness, families, why, day))
    return locks


def _sick_lock(
    vessel: str, sickness: str, families: tuple[str, ...], because: str, day: date
) -> Lock:
    if reference_tables().sickness(sickness).locks == "for-good":
        return Lock(vessel, "all", because)
    return Lock(vessel, "family", because, families, _a_year_on(day))


def _said(sickness: str) -> str:
    return say("locks.a-sickness") if sickness == "unknown" else spoken(sickness)


def _weedkiller_locks(
    garden: Garden, entries: Sequence[Entry], vessel: str, today: date
) -> list[Lock]:
    """Return the lock for a doubt about weedkiller in what steeps now."""
    untreated = garden.lawn is not None and not garden.lawn.treated
    held = matter_in(entries, vessel, None, current=True)
    if not held:
        return []
    doubtful = [
        (at, each.plant)
        for at, each in held
        if each.plant in DOUBTFUL or (each.plant == CLIPPINGS and not untreated)
    ]
    # A test counts after the last that is doubtful went in, and of other matter from its start.
    since = max((at for at, _ in doubtful), default=held[0][0])
    tests = [e for e in entries if isinstance(e, BeanTest) and e.vessel == vessel and e.at >= since]
    if tests and tests[-1].outcome == "twisted":
        because = (
            say("locks.beans-twisted-by", matter=spoken(doubtful[-1][1]))
            if doubtful
            else say("locks.beans-twisted")
        )
        return [Lock(vessel, "all-but-grass", because)]
    if tests or not doubtful:
        return []
    sow_by = max(local_day(garden, since) + timedelta(days=SOW_WITHIN_D), today)
    because = say("locks.weedkiller", matter=spoken(doubtful[-1][1]))
    return [Lock(vessel, "all-but-grass", because, test_by=sow_by)]


def matter_in(
    entries: Sequence[Entry], vessel: str, at: datetime | None, *, current: bool = False
) -> list[tuple[datetime, Matter]]:
    """Return what went into a vessel and when, whatever brought it there.

    Parameters
    ----------
    entries
        The journal, in the order of what it tells.
    vessel
        Name of the vessel.
    at
        A moment: only what the steep of then was made of. None: all that ever went in.
    current
        Whether only what the last steep is made of counts, if it is still in it.

    Returns
    -------
    list of tuple
        Moment and matter, in the order of time.
    """
    if current and entries:
        at = max(entry.at for entry in entries)
    begun = steep_in(entries, vessel, at) if at is not None else None
    if at is not None and begun is None:
        return []
    return [
        (entry.at, each)
        for entry in entries
        if getattr(entry, "vessel", None) == vessel
        and (begun is None or (at is not None and begun.at <= entry.at <= at))
        for each in getattr(entry, "matter", ())
    ]


def _family(matter: Matter) -> str:
    return matter.family or plant_family(matter.plant)


def _a_year_on(day: date) -> date:
    try:
        return day.replace(year=day.year + 1)
    except ValueError:
        return date(day.year + 1, 3, 1)
