"""Which beds are due for feed this week, on which days, and why the others are not."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from steepwell.garden.days import local_day
from steepwell.garden.site import WEEKDAYS
from steepwell.garden.tables import reference_tables
from steepwell.outlook.calendar import Stay, standing_on
from steepwell.store.entries import Entry, Fed, LooksHungry, Mulched, Picking, Planted
from steepwell.words.figures import day as on
from steepwell.words.figures import spoken
from steepwell.words.saying import say, say_count

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.garden.garden import Garden
    from steepwell.garden.growing import Bed

WEEK_D = 7
# Below this mean of the air little is taken up; common practice, no source [°C].
COLDEST_C = 7.0
# Common practice, no source: every two to four weeks; who looks hungry waits the shortest time.
SOONEST_AGAIN_D = 14
# Young plants have feed within a week of being set out.
SET_OUT_D = 6
# Seedlings have true leaves about three weeks after sowing; from memory.
TRUE_LEAVES_D = 21
COMPOST = "compost"
COMPOST_LASTS_D = 365
HUNGRY, UNCOMPOSTED = 2, 1


@dataclass(frozen=True, slots=True)
class Due:
    """A bed that may be fed this week.

    Attributes
    ----------
    bed
        The bed.
    standing
        Its crop.
    days
        The days on which it may be fed.
    waited_d
        For how long it has been due [d].
    tier
        The higher, the sooner it comes.
    waits_d
        Days after it in which nothing is picked there [d].
    """

    bed: Bed
    standing: Stay
    days: tuple[date, ...]
    waited_d: int
    tier: int
    waits_d: int


@dataclass(frozen=True, slots=True)
class Unfed:
    """A bed that gets none, why, and whether it would be its turn."""

    bed: str
    reason: str
    due: bool = True


def feed_days(garden: Garden, today: date) -> tuple[date, ...]:
    """Return the days of a week on which the gardener works and vessels may be opened.

    Parameters
    ----------
    garden
        The garden.
    today
        The first day.

    Returns
    -------
    tuple of date
        In order.
    """
    gardeners = [person for person in garden.told.people if person.role == "gardener"]
    working = {day for person in gardeners for day in person.working_days} or set(WEEKDAYS)
    shut = set(garden.feed.smell_free)
    week = [today + timedelta(days=ahead) for ahead in range(WEEK_D)]
    named = [(day, {WEEKDAYS[day.weekday()], f"{day:%m-%d}"}) for day in week]
    return tuple(day for day, names in named if names & working and not names & shut)


def who_is_due(
    garden: Garden, entries: Sequence[Entry], today: date, *, mean_c: float | None
) -> tuple[list[Due], list[Unfed]]:
    """Return the beds that are due in the week from a day, and those that are not, with reasons.

    Parameters
    ----------
    garden
        The garden.
    entries
        The journal.
    today
        The first day.
    mean_c
        Mean temperature of the air in that week, None where it is not known [°C].

    Returns
    -------
    tuple of lists
        In the order of the garden file; beds in which nothing stands are in neither.
    """
    days = feed_days(garden, today)
    due: list[Due] = []
    unfed: list[Unfed] = []
    for bed in garden.bed:
        found = _due(garden, bed, entries, today, days)
        if isinstance(found, Due) and mean_c is not None and mean_c < COLDEST_C:
            found = say("feed-due.too-cold", celsius=f"{COLDEST_C:.0f}")
        if isinstance(found, Due):
            due.append(found)
        elif found is not None:
            unfed.append(Unfed(bed.name, found, due=False))
    return due, unfed


@dataclass(frozen=True, slots=True)
class _Window:
    """When a bed may be fed, and what settles that."""

    first: date
    last_fed: date | None
    again: date | None
    free: date | None
    closes: date | None
    hungry: bool
    waits_d: int

    @property
    def opens(self) -> date:
        """The first day on which it may be fed again."""
        return max(day for day in (self.first, self.again, self.free) if day is not None)


def _due(
    garden: Garden,
    bed: Bed,
    entries: Sequence[Entry],
    today: date,
    days: Sequence[date],
) -> Due | str | None:
    """Return when a bed may be fed, or why it may not; None where nothing stands."""
    standing = standing_on(garden, bed, today, entries)
    if standing is None:
        return None
    if standing.table.feeding.first_day is None:
        return say("feed-due.never", crop=spoken(standing.crop))
    here = [e for e in entries if getattr(e, "bed", None) == bed.name]
    window = _window(garden, bed, standing, here, today)
    closes = window.closes or date.max
    allowed = tuple(day for day in days if window.opens <= day <= closes)
    if not allowed:
        return _why_not(standing, window, today)
    composted = _is_composted(garden, bed, here, today)
    tier = HUNGRY if window.hungry else 0 if composted else UNCOMPOSTED
    waited_d = max((today - window.opens).days, 0)
    return Due(bed, standing, allowed, waited_d, tier, window.waits_d)


def _window(
    garden: Garden, bed: Bed, standing: Stay, here: Sequence[Entry], today: date
) -> _Window:
    feeding = standing.table.feeding
    since = [e for e in here if local_day(garden, e.at) >= standing.planted]
    last_fed = _last(garden, since, Fed)
    looked_hungry = _last(garden, since, LooksHungry)
    hungry = looked_hungry is not None and (last_fed is None or looked_hungry >= last_fed)
    first = standing.planted + timedelta(days=feeding.first_day or 0)
    if bed.kind == "tray":
        first = max(first, standing.planted + timedelta(days=TRUE_LEAVES_D))
    elif last_fed is None and _set_out(garden, since, standing, today):
        first = standing.planted
    again_d = SOONEST_AGAIN_D if hungry else feeding.every_days
    waiting = reference_tables().waiting.get(standing.crop)
    waits_d = waiting.waits_d if waiting else 0
    picked = _last(garden, here, Picking) if waits_d else None
    return _Window(
        first=first,
        last_fed=last_fed,
        again=None if last_fed is None else last_fed + timedelta(days=again_d),
        free=None if picked is None else picked + timedelta(days=waits_d),
        closes=_closes(standing, feeding.last_day, waits_d),
        hungry=hungry,
        waits_d=waits_d,
    )


def _why_not(standing: Stay, window: _Window, today: date) -> str:
    """Return why no day of the week will do, what is so for longest first."""
    end = today + timedelta(days=WEEK_D - 1)
    from_day = max(window.opens, today)
    last_day = standing.table.feeding.last_day
    closed = window.closes is not None and from_day > window.closes
    waiting = reference_tables().waiting.get(standing.crop)
    because = waiting.because if waiting else ""
    cases = (
        (window.first > end, say("feed-due.too-young", day=on(window.first))),
        (
            last_day is not None and standing.age_d(from_day) > last_day,
            say("feed-due.past"),
        ),
        (
            window.free is not None and window.free > end,
            say("feed-due.picked", because=because, day=on(window.free or end)),
        ),
        (
            closed and window.waits_d > 0,
            say_count("feed-due.picked-soon", window.waits_d, because=because),
        ),
        (closed, say("feed-due.cleared-soon")),
        (
            window.again is not None and window.again > end,
            say("feed-due.fed", fed=on(window.last_fed or today), again=on(window.again or end)),
        ),
    )
    return next((reason for holds, reason in cases if holds), say("feed-due.no-day"))


def _closes(standing: Stay, last_day: int | None, waits_d: int) -> date | None:
    """Return the last day of feeding; a bed that is always in use has no day of clearing."""
    days = [] if last_day is None else [standing.planted + timedelta(days=last_day)]
    if not standing.full_grown:
        days.append(standing.last - timedelta(days=waits_d))
    return min(days, default=None)


def _set_out(garden: Garden, since: Sequence[Entry], standing: Stay, today: date) -> bool:
    """Return whether a crop was set out as young plants within the last days."""
    return standing.age_d(today) <= SET_OUT_D and any(
        isinstance(e, Planted) and e.transplanted and local_day(garden, e.at) == standing.planted
        for e in since
    )


def _last(garden: Garden, entries: Sequence[Entry], kind: type[Entry]) -> date | None:
    return max((local_day(garden, e.at) for e in entries if isinstance(e, kind)), default=None)


def _is_composted(garden: Garden, bed: Bed, here: Sequence[Entry], today: date) -> bool:
    if bed.mulch is not None and bed.mulch.material == COMPOST:
        return True
    return any(
        isinstance(e, Mulched)
        and e.material == COMPOST
        and (today - local_day(garden, e.at)).days <= COMPOST_LASTS_D
        for e in here
    )
