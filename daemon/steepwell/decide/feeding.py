"""Which bed gets which feed this week, and why the others get none."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

from steepwell.decide.dosing import Dose, dose
from steepwell.garden.tables import Feeding, reference_tables
from steepwell.model.ageing import is_ready
from steepwell.model.dilution import rung, told_dilution
from steepwell.outlook.calendar import Stay, standing_on
from steepwell.store.entries import Entry, Fed

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from steepwell.garden.garden import Garden
    from steepwell.outlook.state import BedNow, State, SteepNow

ML_A_LITRE = 1000.0


@dataclass(frozen=True, slots=True)
class Feed:
    """One bed's feed.

    Attributes
    ----------
    bed, vessel
        Which bed, from which vessel.
    dose
        The measure for a can.
    dilution_parts
        Parts of water to one of feed.
    day
        When.
    reason
        One sentence for the gardener.
    """

    bed: str
    vessel: str
    dose: Dose
    dilution_parts: int
    day: date
    reason: str


@dataclass(frozen=True, slots=True)
class Unfed:
    """A bed that gets none, and why."""

    bed: str
    reason: str


def share_feed(
    garden: Garden,
    state: State,
    entries: Sequence[Entry],
    *,
    watered: Collection[str],
    spare_l: float,
) -> tuple[list[Feed], list[Unfed]]:
    """Match beds that are due with vessels that are ready: own crop, else own family, else any.

    Feed never goes on dry soil. On a bed that is watered this week it is part of that water; on
    another one, its can comes out of what is left.

    Parameters
    ----------
    garden
        The garden.
    state
        What is so now.
    entries
        The journal, for what was fed when.
    watered
        The beds that are watered this week.
    spare_l
        Rainwater left when those have had theirs [L].

    Returns
    -------
    tuple of lists
        The beds to feed, and those left out with the reason.
    """
    fed: list[Feed] = []
    unfed: list[Unfed] = []
    left_l = {steep.vessel: steep.liquid_l for steep in state.vessels}
    dryness = {now.name: now for now in state.beds}
    for bed in garden.bed:
        standing = standing_on(garden, bed, state.today, entries)
        if standing is None:
            continue
        not_due = _not_due(standing, state.today, _last_fed(garden, bed.name, standing, entries))
        if not_due is not None:
            unfed.append(Unfed(bed.name, not_due))
            continue
        steep = _steep_for(garden, standing, state, left_l)
        if steep is None:
            unfed.append(Unfed(bed.name, "no feed that suits it is ready"))
            continue
        if bed.name not in watered:
            too_dry = _too_dry(dryness.get(bed.name), spare_l, garden.can.size)
            if too_dry is not None:
                unfed.append(Unfed(bed.name, too_dry))
                continue
            spare_l -= garden.can.size
        feed = _feed(garden, state, bed.name, standing, steep)
        left_l[steep.vessel] -= feed.dose.feed_ml / ML_A_LITRE
        fed.append(feed)
    return fed, unfed


def _last_fed(garden: Garden, bed: str, standing: Stay, entries: Sequence[Entry]) -> date | None:
    days = [
        entry.at.astimezone(garden.garden.zone).date()
        for entry in entries
        if isinstance(entry, Fed) and entry.bed == bed
    ]
    return max((day for day in days if day >= standing.planted), default=None)


def _not_due(standing: Stay, today: date, last_fed: date | None) -> str | None:
    """Return why a bed is not due, None if it is."""
    window: Feeding = standing.table.feeding
    if window.first_day is None:
        return f"{standing.crop.replace('-', ' ')} is never fed"
    if standing.age_d(today) < window.first_day:
        first = standing.planted + timedelta(days=window.first_day)
        return f"too young: first feed from {_day(first)}"
    if window.last_day is not None and standing.age_d(today) > window.last_day:
        return "past the time when feeding helps"
    if last_fed is not None and (today - last_fed).days < window.every_days:
        following = last_fed + timedelta(days=window.every_days)
        return f"fed on {_day(last_fed)}; next from {_day(following)}"
    return None


def _too_dry(now: BedNow | None, spare_l: float, can_l: float) -> str | None:
    """Return why a bed that is not watered cannot be fed either, None if it can.

    Where the weather is not known, neither is how dry a bed is; it is taken as moist.
    """
    if now is not None and now.depletion_mm > now.raw_mm:
        return "due, but feed does not go on dry soil, and there is no water for it"
    if spare_l < can_l:
        return "due, but there is no rainwater to spare for a can of feed"
    return None


def _steep_for(
    garden: Garden, standing: Stay, state: State, left_l: dict[str, float]
) -> SteepNow | None:
    ready = [
        steep
        for steep in state.vessels
        if _usable(steep, state.now)
        and left_l[steep.vessel] >= _dose(garden, state, steep).feed_ml / ML_A_LITRE
    ]
    own = [s for s in ready if s.plants == (standing.crop,)]
    family = [s for s in ready if _families(s) == {standing.table.family}]
    general = [s for s in ready if _is_for_any(s)]
    return next(iter(own + family + general), None)


def _is_for_any(steep: SteepNow) -> bool:
    """Return whether a feed is of plants that are grown in no bed, such as nettles."""
    return set(steep.plants) <= set(reference_tables().plants)


def _usable(steep: SteepNow, now: datetime) -> bool:
    return steep.started is not None and is_ready(steep.thermal_age_d, steep.calendar_age_d(now))


def _families(steep: SteepNow) -> set[str]:
    return {_family(plant) for plant in steep.plants}


def _family(plant: str) -> str:
    """Return the family of a plant; one that no table knows is of no family but its own."""
    try:
        return reference_tables().plant_family(plant)
    except ValueError:
        return plant


def _parts(state: State, steep: SteepNow) -> int:
    return rung(float(told_dilution(steep.thermal_age_d, steep.calendar_age_d(state.now))))


def _dose(garden: Garden, state: State, steep: SteepNow) -> Dose:
    return dose(garden.can.size, _parts(state, steep))


def _feed(garden: Garden, state: State, bed: str, standing: Stay, steep: SteepNow) -> Feed:
    if steep.plants == (standing.crop,):
        suits = "was made of its own crop"
    elif _is_for_any(steep):
        suits = "suits any bed"
    else:
        suits = f"is of its own family, the {standing.table.family}"
    return Feed(
        bed,
        steep.vessel,
        _dose(garden, state, steep),
        _parts(state, steep),
        state.today,
        f"due, and the {steep.vessel} feed {suits}",
    )


def _day(day: date) -> str:
    return f"{day.day} {day:%B}"
