"""State as a fold over journal and readings."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from steepwell.model.soil import root_zone_step
from steepwell.outlook.butts import butts_now
from steepwell.outlook.calendar import BedDays, bed_days, standing_on
from steepwell.outlook.et0 import daily_et0_mm, hargreaves_bias
from steepwell.outlook.habit import ASKS_MM, days_with_water, use_factor
from steepwell.outlook.observed import Observed, local_day, observe
from steepwell.outlook.state import BedNow, State
from steepwell.outlook.steeps import steeps_now
from steepwell.store.entries import Entry, SteepStarted, Watered

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.garden.garden import Garden
    from steepwell.outlook.record import Record
    from steepwell.store.store import Store

Days = NDArray[np.float64]

# Long enough for the root zone to forget how it began, which is at field capacity.
SOIL_MEMORY_D = 200


def state_now(garden: Garden, store: Store, record: Record | None, now: datetime) -> State:
    """Return what is so in the garden.

    Parameters
    ----------
    garden
        The garden.
    store
        Readings and journal.
    record
        The weather record, if there is one.
    now
        The moment; nothing later is looked at.

    Returns
    -------
    State
        Beds are left out where the weather is not known, because there is neither a record nor
        a probe for the air.
    """
    entries = store.journal.entries(now)
    today = local_day(garden, now)
    begun = [local_day(garden, e.at) for e in entries if isinstance(e, SteepStarted)]
    first = min([today - timedelta(days=SOIL_MEMORY_D), *begun[-len(garden.vessel) or None :]])
    observed = observe(garden, store, record, entries, first=first, now=now)
    watered = _watered_mm(garden, entries, first, today)
    soil = _fold_soil(garden, observed, record, entries, watered)
    had_water = days_with_water(garden, store, first, now)
    given_l = watered @ np.array([bed.area for bed in garden.bed])
    return State(
        now=now,
        today=today,
        rain_today_mm=observed.rain_today_mm,
        watered_today_mm=tuple(float(mm) for mm in watered[-1]),
        butts=butts_now(garden, store, observed, entries, now),
        beds=_beds_now(garden, soil, entries, today),
        vessels=steeps_now(garden, store, observed, entries, now),
        use_factor=use_factor(given_l[:-1], soil.drawn_l, had_water) if soil else 1.0,
    )


def _watered_mm(garden: Garden, entries: Sequence[Entry], first: date, today: date) -> Days:
    watered = np.zeros(((today - first).days + 1, len(garden.bed)))
    column = {bed.name: index for index, bed in enumerate(garden.bed)}
    for entry in entries:
        if isinstance(entry, Watered) and entry.bed in column:
            row = (local_day(garden, entry.at) - first).days
            if row >= 0:
                bed = garden.bed[column[entry.bed]]
                watered[row, column[entry.bed]] += entry.litres / bed.area
    return watered


@dataclass(frozen=True, slots=True)
class _Soil:
    """What the soil came to by this morning.

    Attributes
    ----------
    asked
        What the beds ask of it, day by day up to today.
    depletion_mm
        Of each bed [mm].
    drawn_l
        What unstressed crops drew on each day from beds that asked for water [L].
    """

    asked: BedDays
    depletion_mm: Days
    drawn_l: Days


def _fold_soil(
    garden: Garden,
    observed: Observed,
    record: Record | None,
    entries: Sequence[Entry],
    watered_mm: Days,
) -> _Soil | None:
    """Carry the root zones through the days observed; None where their weather is not known."""
    if np.isnan(observed.tmin_c[-SOIL_MEMORY_D:]).any():
        return None
    count = len(watered_mm)
    asked = bed_days(garden, observed.first, count, entries)
    rained_on = np.array([bed.rained_on for bed in garden.bed], dtype=float)
    area_m2 = np.array([bed.area for bed in garden.bed])
    et0 = daily_et0_mm(
        observed.tmin_c,
        observed.tmax_c,
        observed.first,
        latitude_deg=garden.garden.latitude,
        bias=hargreaves_bias(record, garden.garden.latitude),
    )
    depletion = np.zeros(len(garden.bed))
    drawn_l = np.zeros(count - 1)
    for index in range(count - 1):
        etc_mm = et0[index] * asked.kc[index]
        depletion, _, _ = root_zone_step(
            depletion,
            rain_mm=np.nan_to_num(observed.rain_mm[index]) * rained_on,
            irrigation_mm=watered_mm[index],
            etc_mm=etc_mm,
            taw_mm=asked.taw_mm[index],
            raw_mm=asked.raw_mm[index],
        )
        asks = (depletion + watered_mm[index] > ASKS_MM) & asked.grows[index]
        drawn_l[index] = np.sum(etc_mm * area_m2 * asks)
    return _Soil(asked, depletion, drawn_l)


def _beds_now(
    garden: Garden, soil: _Soil | None, entries: Sequence[Entry], today: date
) -> tuple[BedNow, ...]:
    if soil is None:
        return ()
    beds = []
    for column, bed in enumerate(garden.bed):
        standing = standing_on(garden, bed, today, entries)
        taw = float(soil.asked.taw_mm[-1, column])
        raw = float(soil.asked.raw_mm[-1, column])
        crop = standing.crop if standing else None
        beds.append(BedNow(bed.name, min(float(soil.depletion_mm[column]), taw), taw, raw, crop))
    return tuple(beds)
