"""Which vessel to fill with what, and by when, so that there is feed when beds want it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from steepwell.decide.cutting import crops_to_spare, wild_grows
from steepwell.decide.lead import last_day
from steepwell.decide.locks import locks_on, plant_family
from steepwell.decide.wanted_feed import LITRES_A_BUCKET, WantedFeed, wanted_feeds
from steepwell.garden.matter import BUCKET_L, bucket_kg
from steepwell.garden.tables import reference_tables
from steepwell.model.dilution import LADDER

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.garden.garden import Garden
    from steepwell.garden.growing import Vessel
    from steepwell.outlook.record import Record
    from steepwell.outlook.state import State, SteepNow
    from steepwell.store.entries import Entry

# Settled solids take up to a third of a vessel; from memory.
ABOVE_SOLIDS = 2.0 / 3.0
# What suits any bed, and is common; either will do.
WILD = ("nettle", "comfrey")


@dataclass(frozen=True, slots=True)
class Start:
    """A feed to begin.

    Attributes
    ----------
    wanted
        What it is for.
    vessel
        The vessel to fill, None where none is free.
    by
        The day to fill it: the earlier of the day its matter is cleared and of the last day.
    last
        The last day that makes it ready in nine years of ten, None where no weather is known.
    litres
        What the feeds of a year take of it [L].
    size_l
        The size of vessel that is enough [L].
    buckets
        Buckets of matter that the vessel wants.
    rainwater_l
        Rainwater to fill it [L].
    wild
        Whether wild plants have to do: its own have no leaves to spare by then.
    """

    wanted: WantedFeed
    vessel: str | None
    by: date | None
    last: date | None
    litres: float
    size_l: float
    buckets: float
    rainwater_l: float
    wild: bool

    @property
    def plants(self) -> tuple[str, ...]:
        """What goes in."""
        return WILD if self.wild else self.wanted.crops

    @property
    def matter_kg(self) -> float:
        """What those buckets weigh, pressed; the mean of what goes in [kg]."""
        weights = [bucket_kg(plant, packed=True) for plant in self.plants]
        return self.buckets * sum(weights) / len(weights)

    @property
    def on_clearing(self) -> bool:
        """Whether the day is that on which its matter is cleared."""
        return self.by is not None and self.by == self.wanted.cleared


def start_plan(
    garden: Garden, state: State, record: Record | None, entries: Sequence[Entry]
) -> list[Start]:
    """Return the feeds to begin, the one to be filled first in front.

    Each crop has a feed of its own while there are vessels for it; else crops of a family share
    one. What steeps already is not begun again; a vessel that no longer recovers counts as free.

    Parameters
    ----------
    garden
        The garden.
    state
        What is so now.
    record
        The weather record, None where there is none.
    entries
        The journal.

    Returns
    -------
    list of Start
        One for each feed that is wanted within a year and does not steep yet; of wild plants one
        in all.
    """
    locked = {lock.vessel for lock in locks_on(garden, entries, state.today) if lock.bars == "all"}
    open_ones = [steep for steep in state.vessels if steep.vessel not in locked]
    steeping = [steep for steep in open_ones if steep.started and not steep.ended]
    empty = {steep.vessel for steep in open_ones if steep.started is None or steep.ended}
    free = sorted(
        (vessel for vessel in garden.vessel if vessel.name in empty),
        key=lambda vessel: vessel.liquid_l,
    )
    wanted = _missing(wanted_feeds(garden, entries, state.today, by_family=False), steeping)
    if len(wanted) > len(free):
        wanted = _missing(wanted_feeds(garden, entries, state.today, by_family=True), steeping)
    vessels = _shared_out(garden, wanted, free, state.today)
    starts = [
        _start(garden, each, vessels.get(each.name), record, state, entries=entries)
        for each in wanted
    ]
    starts.sort(key=lambda each: each.by or date.max)
    return _one_wild(starts, steeping)


def _one_wild(starts: Sequence[Start], steeping: Sequence[SteepNow]) -> list[Start]:
    """Leave out wild feeds but the first, and that too where one steeps: it suits any bed."""
    known = reference_tables().plants
    there = any(steep.plants and set(steep.plants) <= known.keys() for steep in steeping)
    first = None if there else next((each for each in starts if each.wild), None)
    return [each for each in starts if not each.wild or each is first]


def _missing(wanted: Sequence[WantedFeed], steeping: Sequence[SteepNow]) -> list[WantedFeed]:
    """Return the feeds for which nothing of their own crop or family steeps."""
    held = [{plant_family(plant) for plant in steep.plants} for steep in steeping]
    return [each for each in wanted if {each.family} not in held]


def _shared_out(
    garden: Garden, wanted: Sequence[WantedFeed], free: Sequence[Vessel], today: date
) -> dict[str, Vessel]:
    """Return the vessel of each feed: one that is named after it, else the smallest that will do.

    What is wanted first chooses first.
    """
    left = list(free)
    found: dict[str, Vessel] = {}
    for each in wanted:
        names = {each.name, each.family, *each.crops}
        named = next((vessel for vessel in left if vessel.name in names), None)
        if named is not None:
            found[each.name] = named
            left.remove(named)
    for each in (each for each in wanted if each.name not in found and left):
        size_l = _size_l(each.litres(garden.can.size, each.cleared or today))
        will_do = next((vessel for vessel in left if vessel.liquid_l >= size_l), left[-1])
        found[each.name] = will_do
        left.remove(will_do)
    return found


def _size_l(litres: float) -> float:
    """Return the size of vessel that is enough; a bucket is the least that is worth filling [L]."""
    return max(litres / ABOVE_SOLIDS, BUCKET_L)


def _start(
    garden: Garden,
    wanted: WantedFeed,
    vessel: Vessel | None,
    record: Record | None,
    state: State,
    *,
    entries: Sequence[Entry],
) -> Start:
    last, today = None, state.today
    of_size = vessel or min(garden.vessel, key=lambda each: each.liquid_l, default=None)
    if record is not None and of_size is not None:
        learned = {steep.vessel: steep.warmth for steep in state.vessels}
        last = last_day(garden, record, of_size, wanted.feeds[0], learned.get(of_size.name))
    by = min((day for day in (wanted.cleared, last) if day is not None), default=None)
    by = None if by is None else max(by, today)
    ladder = (None if vessel is None else vessel.ladder) or LADDER
    litres = wanted.litres(garden.can.size, by or today, ladder)
    rainwater_l = 0.0 if vessel is None else vessel.liquid_l
    return Start(
        wanted,
        None if vessel is None else vessel.name,
        by,
        last,
        litres,
        _size_l(litres),
        rainwater_l / LITRES_A_BUCKET,
        rainwater_l,
        by is not None
        and by != wanted.cleared
        and wild_grows(garden, by)
        and not crops_to_spare(garden, by, entries, wanted.crops),
    )


@dataclass(frozen=True, slots=True)
class Reserve:
    """What a vessel that is ready still gives.

    Attributes
    ----------
    vessel
        The vessel.
    litres
        Liquid above its solids [L].
    dilution_parts
        Parts of water to one of feed.
    cans
        Whole cans that makes.
    families
        For whom; empty where it suits any bed.
    """

    vessel: str
    litres: float
    dilution_parts: int
    cans: int
    families: tuple[str, ...]


def reserve(garden: Garden, state: State) -> list[Reserve]:
    """Return the feed in hand.

    Parameters
    ----------
    garden
        The garden.
    state
        What is so now.

    Returns
    -------
    list of Reserve
        One for each vessel that is ready, in the order of the garden file.
    """
    grown = {stay.crop for bed in garden.bed for stay in bed.crops}
    found = []
    for steep in state.vessels:
        parts = steep.dilution_parts
        if parts is None:
            continue
        families = dict.fromkeys(plant_family(plant) for plant in steep.plants)
        own = tuple(families) if grown & set(steep.plants) else ()
        cans = int(steep.usable_l * (1.0 + parts) / garden.can.size)
        found.append(Reserve(steep.vessel, steep.usable_l, parts, cans, own))
    return found
