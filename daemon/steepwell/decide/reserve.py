"""The feed in hand: how much at each rung, and over the year ahead if it is left alone."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from steepwell.decide.lead import ages_d, knows_all
from steepwell.decide.locks import locks_on
from steepwell.decide.starting import Reserve, reserve
from steepwell.model.dilution import LADDER
from steepwell.outlook.bridging import same_day
from steepwell.outlook.vessel_summary import rungs_ahead

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from steepwell.garden.garden import Garden
    from steepwell.garden.growing import Vessel
    from steepwell.outlook.record import Record
    from steepwell.outlook.state import State, SteepNow
    from steepwell.store.entries import Entry

YEAR_D = 365

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Rung:
    """Liquid of all vessels that is thinned alike.

    Attributes
    ----------
    dilution_parts
        Parts of water to one of feed.
    litres
        Liquid above the solids [L].
    cans
        Whole cans that makes.
    families
        For whom; empty where some of it suits any bed.
    """

    dilution_parts: int
    litres: float
    cans: int
    families: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Step:
    """From a day on a vessel is thinned by so much.

    Attributes
    ----------
    first
        The day.
    dilution_parts
        Parts of water to one of feed; None while it is not ready.
    cans
        Whole cans that its liquid makes then.
    """

    first: date
    dilution_parts: int | None
    cans: int


@dataclass(frozen=True, slots=True)
class YearOf:
    """A vessel over the year ahead, if nothing is drawn from it and what evaporates is put back.

    Attributes
    ----------
    vessel
        The vessel.
    litres
        Liquid above the solids [L].
    steps
        How far it is thinned, from today on.
    """

    vessel: str
    litres: float
    steps: tuple[Step, ...]


def in_hand(garden: Garden, state: State, entries: Sequence[Entry]) -> list[Reserve]:
    """Return the feed of each vessel that is ready and may be given to some bed.

    Parameters
    ----------
    garden
        The garden.
    state
        What is so now.
    entries
        The journal, for the locks.

    Returns
    -------
    list of Reserve
        In the order of the garden file; without the families a lock bars.
    """
    locks = locks_on(garden, entries, state.today)
    shut = {lock.vessel for lock in locks if lock.bars != "family"}
    barred = {(lock.vessel, family) for lock in locks for family in lock.families}
    open_ones = [each for each in reserve(garden, state) if each.vessel not in shut]
    left = [
        (each, tuple(f for f in each.families if (each.vessel, f) not in barred))
        for each in open_ones
    ]
    return [
        replace(each, families=families) for each, families in left if families or not each.families
    ]


def by_rung(kept: Iterable[Reserve]) -> list[Rung]:
    """Return the same by how far it is thinned, the thickest first.

    Parameters
    ----------
    kept
        The feed of each vessel.

    Returns
    -------
    list of Rung
        One for each dilution there is.
    """
    rungs: dict[int, Rung] = {}
    for each in kept:
        other = rungs.get(each.dilution_parts)
        if other is None:
            rungs[each.dilution_parts] = Rung(
                each.dilution_parts, each.litres, each.cans, each.families
            )
            continue
        any_bed = not (each.families and other.families)
        families = () if any_bed else tuple(dict.fromkeys((*other.families, *each.families)))
        rungs[each.dilution_parts] = Rung(
            each.dilution_parts, other.litres + each.litres, other.cans + each.cans, families
        )
    return [rungs[parts] for parts in sorted(rungs)]


def year_ahead(garden: Garden, state: State, record: Record | None) -> list[YearOf]:
    """Return how far each steep is thinned over the year ahead.

    Parameters
    ----------
    garden
        The garden.
    state
        What is so now.
    record
        The weather record, for how they age in a usual year; without it they age by the calendar,
        and when one becomes ready is not known.

    Returns
    -------
    list of YearOf
        One for each vessel that holds a steep which still gives a feed.
    """
    return [
        _year_of(garden, vessel, steep, state, record)
        for vessel, steep in zip(garden.vessel, state.vessels, strict=True)
        if steep.started is not None and not steep.ended
    ]


def _year_of(
    garden: Garden, vessel: Vessel, steep: SteepNow, state: State, record: Record | None
) -> YearOf:
    ladder = vessel.ladder or LADDER
    label = steep.dilution_parts
    days = np.arange(YEAR_D + 1.0)
    thermal_d = steep.thermal_age_d + _usual_gain_d(garden, vessel, steep, record, state.today)
    calendar_d = steep.calendar_age_d(state.now) + days
    rungs = rungs_ahead(
        steep, ladder, np.fmax(thermal_d, calendar_d)[:, None], label=label, now=state.now
    )[:, 0]
    ripe = (thermal_d >= vessel.ready_age_d) & (calendar_d >= vessel.least_days)
    steps: list[Step] = []
    for day, rung in enumerate(rungs.tolist()):
        parts = ladder[rung] if label is not None or ripe[day] else None
        if not steps or steps[-1].dilution_parts != parts:
            cans = 0 if parts is None else int(steep.usable_l * (1.0 + parts) / garden.can.size)
            steps.append(Step(state.today + timedelta(days=day), parts, cans))
    return YearOf(vessel.name, steep.usable_l, tuple(steps))


def _usual_gain_d(
    garden: Garden, vessel: Vessel, steep: SteepNow, record: Record | None, today: date
) -> Array:
    """Return by how much a steep ages within so many days, in the middle year of the record [d]."""
    unknown = np.full(YEAR_D + 1, np.nan)
    if record is None or record.days <= YEAR_D:
        return unknown
    ages = ages_d(garden, record, vessel, steep.warmth)
    years = range(record.first.year, record.first.year + record.days // YEAR_D + 2)
    starts = [(same_day(today, year) - record.first).days for year in years]
    gains = [
        ages[at : at + YEAR_D + 1] - ages[at]
        for at in starts
        if at >= 0 and at + YEAR_D < record.days and knows_all(record, at + 1, at + YEAR_D + 1)
    ]
    middle: Array = np.median(gains, axis=0) if gains else unknown
    return middle
