"""One steep as a fold over the journal: what is left of it, how far to thin it, since when."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np

from steepwell.clock import from_ms, to_ms
from steepwell.garden.matter import SETTLED_L_A_KG, USUAL_KG_L
from steepwell.model.dilution import LADDER, MOST_PARTS, rung
from steepwell.model.steep import (
    Contents,
    aged,
    drawn,
    evaporated,
    filled,
    is_feed,
    is_spent,
    told_parts,
    topped_up,
)
from steepwell.store.entries import (
    ConductivityMeasured,
    Decanted,
    DrawnOff,
    Entry,
    ReadyConfirmed,
    SteepStarted,
    TooStrong,
    ToppedUp,
)
from steepwell.store.vessel_litres import filled_l, matter_kg, top_up_kg

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from datetime import datetime

    from steepwell.garden.growing import Vessel
    from steepwell.outlook.vessel_air import AirDays
    from steepwell.outlook.vessel_past import Past

    Clock = Callable[[int], float]

DAY_MS = 86_400_000
# Practice ends at a year.
YEAR = timedelta(days=365)
# What open water loses against the reference crop (FAO-56, Table 12), and what a loose lid lets
# out of it, from memory.
OPEN_WATER = 1.05
LID_LEAKS = {"loose": 0.03, "open": 1.0}


@dataclass(slots=True)
class Fold:
    """What a steep has come to.

    Attributes
    ----------
    contents
        What is in the vessel.
    drawn_l
        What was drawn off or decanted so far [L].
    matter_kg
        All matter that went in [kg].
    plants
        Their names.
    went_in_ms
        When each cohort went in [ms since 1970].
    confirmed_ms
        When it was seen to be ready [ms since 1970].
    rungs_thinner
        How often it was found too strong.
    ds_m
        The greatest conductivity measured, None if none was [dS/m].
    """

    contents: Contents
    drawn_l: float
    matter_kg: float
    plants: list[str]
    went_in_ms: list[int]
    confirmed_ms: list[int] = field(default_factory=list)
    rungs_thinner: int = 0
    ds_m: float | None = None

    @property
    def solids_l(self) -> float:
        """What must stay below the liquid that is drawn [L]."""
        return SETTLED_L_A_KG * self.matter_kg


def fold_steep(
    vessel: Vessel, start: SteepStarted, entries: Sequence[Entry], past: Past, air: AirDays
) -> Fold:
    """Carry a steep from its start to now.

    Parameters
    ----------
    vessel
        The vessel.
    start
        The entry that began it.
    entries
        The journal, in the order of what it tells.
    past
        The temperatures since then.
    air
        The air, for what evaporates.

    Returns
    -------
    Fold
        As it is now; what cannot be, because an entry was withdrawn, ends at nothing.
    """
    liquid_l = filled_l(vessel, start)
    said_kg = matter_kg(start.matter)
    fold = Fold(
        filled(liquid_l, said_kg),
        0.0,
        USUAL_KG_L * liquid_l if said_kg is None else said_kg,
        [each.plant for each in start.matter],
        [to_ms(start.at)],
    )
    clock = past.clock()
    leak = LID_LEAKS[vessel.lid] * OPEN_WATER * vessel.surface_m2
    at_ms = to_ms(start.at)
    for entry in entries:
        if getattr(entry, "vessel", None) != vessel.name or not start.at <= entry.at:
            continue
        moment_ms = to_ms(entry.at)
        if moment_ms > past.end_ms:
            break
        _pass_time(fold, clock, leak * air.et0_between_mm(at_ms, moment_ms), moment_ms)
        at_ms = moment_ms
        _take_in(fold, vessel, entry)
    _pass_time(fold, clock, leak * air.et0_between_mm(at_ms, past.end_ms), past.end_ms)
    return fold


def _pass_time(fold: Fold, clock: Clock, lost_l: float, until_ms: int) -> None:
    # Where nothing is known of the weather neither warmth nor evaporation is a number.
    ages_d = [
        float(np.fmax(clock(until_ms) - clock(began), (until_ms - began) / DAY_MS))
        for began in fold.went_in_ms
    ]
    lost_l = 0.0 if np.isnan(lost_l) else lost_l
    fold.contents = aged(evaporated(fold.contents, lost_l), tuple(ages_d))


def _take_in(fold: Fold, vessel: Vessel, entry: Entry) -> None:
    match entry:
        case DrawnOff() | Decanted():
            fold.drawn_l += min(entry.litres, fold.contents.liquid_l)
            fold.contents, _ = drawn(fold.contents, entry.litres)
        case ToppedUp():
            kg = top_up_kg(entry, vessel.liquid_l - fold.contents.liquid_l)
            fold.contents = topped_up(fold.contents, entry.litres, kg)
            if kg > 0.0:
                fold.matter_kg += kg
                fold.plants += [m.plant for m in entry.matter if m.plant not in fold.plants]
                fold.went_in_ms.append(to_ms(entry.at))
        case ReadyConfirmed():
            fold.confirmed_ms.append(to_ms(entry.at))
        case TooStrong():
            fold.rungs_thinner += 1
        case ConductivityMeasured():
            fold.ds_m = max(fold.ds_m or 0.0, entry.ds_m)
        case _:
            pass


def binding_cohort(fold: Fold) -> int:
    """Return the position of the matter that has to ripen before the liquid may be used.

    The first, until more than as much fresh matter has gone in after it.
    """
    steeps_l = np.array([cohort.steeps_l for cohort in fold.contents.cohorts])
    share = np.cumsum(steeps_l) / steeps_l.sum()
    return int(np.argmax(share >= 0.5))  # noqa: PLR2004 - half


def ready_since(fold: Fold, vessel: Vessel, past: Past) -> datetime | None:
    """Return since when the liquid may be used, None while it may not.

    Parameters
    ----------
    fold
        The steep.
    vessel
        The vessel, for its owner's own age.
    past
        The temperatures since its start.

    Returns
    -------
    datetime or None
        When the matter was old enough by warmth and calendar, or was seen to be.
    """
    began_ms = fold.went_in_ms[binding_cohort(fold)]
    reached_ms = past.reached_ms(began_ms, vessel.ready_age_d)
    least_ms = began_ms + round(vessel.least_days * DAY_MS)
    moments = [] if reached_ms is None else [max(reached_ms, least_ms)]
    moments += [seen_ms for seen_ms in fold.confirmed_ms if seen_ms >= began_ms]
    first_ms = min(moments, default=None)
    return None if first_ms is None or first_ms > past.end_ms else from_ms(first_ms)


def label_parts(fold: Fold, vessel: Vessel, start: SteepStarted, now: datetime) -> int:
    """Return the rung on which the dilution of a ready steep is told [-]."""
    ladder = vessel.ladder or LADDER
    parts = told_parts(fold.contents, fold.ds_m)
    if now - start.at >= YEAR:
        parts = MOST_PARTS
    at = ladder.index(rung(parts, ladder))
    return ladder[min(at + fold.rungs_thinner, len(ladder) - 1)]


def gives_feed(fold: Fold, vessel: Vessel) -> bool:
    """Return whether its liquid is a feed and not mere water, topped up a moment ago."""
    return bool(fold.confirmed_ms) or is_feed(fold.contents, vessel.ready_age_d)


def has_ended(fold: Fold, vessel: Vessel) -> bool:
    """Return whether the vessel no longer recovers."""
    return is_spent(fold.contents, vessel.ready_age_d)
