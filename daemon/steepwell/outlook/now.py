"""State as a fold over journal and readings."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np

from steepwell.model.soil import root_zone_step
from steepwell.outlook.butts import butts_now
from steepwell.outlook.calendar import bed_days, standing_on
from steepwell.outlook.et0 import daily_et0_mm, hargreaves_bias
from steepwell.outlook.observed import Observed, local_day, observe
from steepwell.outlook.state import BedNow, State
from steepwell.outlook.steeps import steeps_now
from steepwell.store.entries import Entry, SteepStarted, Watered

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.garden.garden import Garden
    from steepwell.outlook.record import Record
    from steepwell.store.store import Store

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
    return State(
        now=now,
        today=today,
        rain_today_mm=observed.rain_today_mm,
        watered_today_mm=tuple(float(mm) for mm in watered[-1]),
        butts=butts_now(garden, store, observed, entries, now),
        beds=_beds_now(garden, observed, record, entries, watered),
        vessels=steeps_now(garden, store, observed, entries, now),
    )


def _watered_mm(
    garden: Garden, entries: Sequence[Entry], first: date, today: date
) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    watered = np.zeros(((today - first).days + 1, len(garden.bed)))
    column = {bed.name: index for index, bed in enumerate(garden.bed)}
    for entry in entries:
        if isinstance(entry, Watered) and entry.bed in column:
            row = (local_day(garden, entry.at) - first).days
            if row >= 0:
                bed = garden.bed[column[entry.bed]]
                watered[row, column[entry.bed]] += entry.litres / bed.area
    return watered


def _beds_now(
    garden: Garden,
    observed: Observed,
    record: Record | None,
    entries: Sequence[Entry],
    watered_mm: np.ndarray[tuple[int, int], np.dtype[np.float64]],
) -> tuple[BedNow, ...]:
    if np.isnan(observed.tmin_c[-SOIL_MEMORY_D:]).any():
        return ()
    count = len(watered_mm)
    today = observed.first + timedelta(days=count - 1)
    asked = bed_days(garden, observed.first, count, entries)
    rained_on = np.array([bed.rained_on for bed in garden.bed], dtype=float)
    et0 = daily_et0_mm(
        observed.tmin_c,
        observed.tmax_c,
        observed.first,
        latitude_deg=garden.garden.latitude,
        bias=hargreaves_bias(record, garden.garden.latitude),
    )
    depletion = np.zeros(len(garden.bed))
    for index in range(count - 1):
        depletion, _, _ = root_zone_step(
            depletion,
            rain_mm=np.nan_to_num(observed.rain_mm[index]) * rained_on,
            irrigation_mm=watered_mm[index],
            etc_mm=et0[index] * asked.kc[index],
            taw_mm=asked.taw_mm[index],
            raw_mm=asked.raw_mm[index],
        )
    beds = []
    for column, bed in enumerate(garden.bed):
        standing = standing_on(garden, bed, today, entries)
        taw, raw = float(asked.taw_mm[-1, column]), float(asked.raw_mm[-1, column])
        crop = standing.crop if standing else None
        beds.append(BedNow(bed.name, min(float(depletion[column]), taw), taw, raw, crop))
    return tuple(beds)
