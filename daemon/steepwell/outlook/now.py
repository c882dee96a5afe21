"""State as a fold over journal and readings."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from steepwell.garden.days import local_day
from steepwell.model.dual import dual_step
from steepwell.outlook.butts import butts_now
from steepwell.outlook.calendar import standing_on
from steepwell.outlook.demand import BedDays, bed_days
from steepwell.outlook.et0 import daily_et0_mm, hargreaves_bias
from steepwell.outlook.falling import guessed_waterings
from steepwell.outlook.habit import (
    ASKS_MM,
    LEARNED_OVER_D,
    asks_at_mm,
    asks_share,
    days_with_water,
    rounds_every_d,
    use_factor,
)
from steepwell.outlook.observed import Observed, observe
from steepwell.outlook.persistence import warmer_than_usual_c
from steepwell.outlook.runoff import roofs_now
from steepwell.outlook.silence import feeds_in_silence
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
# Water given from noon on stays in the soil until the sun of the next day.
NOON = timedelta(hours=12)


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
    guessed = guessed_waterings(garden, store, entries, now)
    silent = feeds_in_silence(garden, store, entries, now)
    with_silent = sorted([*entries, *silent], key=lambda entry: entry.at)
    watered = _watered_mm(garden, [*entries, *guessed], first, today)
    had_water = days_with_water(garden, store, first, now)
    unknown_d = (_watering_known_from(garden, store, entries, now) - first).days
    soil = _fold_soil(
        garden,
        observed,
        record,
        entries,
        watered_mm=watered,
        had_water=had_water,
        unknown_d=unknown_d,
    )
    given_l = watered @ np.array([bed.area for bed in garden.bed])
    roofs = roofs_now(garden, store, observed, entries, now)
    return State(
        now=now,
        today=today,
        rain_today_mm=observed.rain_today_mm,
        watered_today_mm=tuple(watered[-2].tolist()),
        watered_tonight_mm=tuple(watered[-1].tolist()),
        butts=butts_now(garden, store, observed, entries, now, roofs=roofs),
        beds=_beds_now(garden, soil, watered, entries, today),
        vessels=steeps_now(garden, store, observed, record, entries=with_silent, now=now),
        use_factor=use_factor(given_l[1:-1], soil.drawn_l, had_water) if soil else 1.0,
        every_d=rounds_every_d(watered[1:-1] > 0, soil.asked_water, had_water) if soil else 1,
        asks_share=soil.asks_share if soil else 1.0,
        roofs=roofs,
        warmer_c=warmer_than_usual_c(observed, record),
        taken=(*guessed, *silent),
    )


def _watered_mm(garden: Garden, entries: Sequence[Entry], first: date, today: date) -> Days:
    """Return what was given to each bed, by the day that draws on it; tomorrow last."""
    watered = np.zeros(((today - first).days + 2, len(garden.bed)))
    column = {bed.name: index for index, bed in enumerate(garden.bed)}
    for entry in entries:
        if isinstance(entry, Watered) and entry.bed in column:
            row = (local_day(garden, entry.at + NOON) - first).days
            if row >= 0:
                bed = garden.bed[column[entry.bed]]
                watered[row, column[entry.bed]] += entry.litres / bed.area
    return watered


def _watering_known_from(
    garden: Garden, store: Store, entries: Sequence[Entry], now: datetime
) -> date:
    """Return the day since when waterings are known: noted, or given away by a butt."""
    today = local_day(garden, now)
    noted = [local_day(garden, entry.at) for entry in entries if isinstance(entry, Watered)]
    probes = [sensor for butt in garden.butt if (sensor := garden.level_sensor(butt.name))]
    read = [store.readings.first_good(probe.name, now) for probe in probes]
    seen = [local_day(garden, moment) for moment in read if moment is not None]
    back = today - timedelta(days=LEARNED_OVER_D)
    return min([today, *noted[:1], *(max(day, back) for day in seen)])


@dataclass(frozen=True, slots=True)
class _Soil:
    """What the soil came to by this morning.

    Attributes
    ----------
    asked
        What the beds ask of it, day by day up to today.
    surface_mm, depletion_mm
        Of each bed [mm].
    owed_mm
        As ``BedNow.owed_mm`` [mm].
    drawn_l
        What unstressed crops and the surface drew on each day from beds that asked for water [L].
    asked_water
        Whether each bed asked for water at the end of each day; (days, beds).
    asks_share
        As ``State.asks_share`` [-].
    """

    asked: BedDays
    surface_mm: Days
    depletion_mm: Days
    owed_mm: Days
    drawn_l: Days
    asked_water: NDArray[np.bool_]
    asks_share: float


def _fold_soil(
    garden: Garden,
    observed: Observed,
    record: Record | None,
    entries: Sequence[Entry],
    *,
    watered_mm: Days,
    had_water: NDArray[np.bool_],
    unknown_d: int,
) -> _Soil | None:
    """Carry the root zones through the days observed; None where their weather is not known.

    On the first days, of whose waterings nothing is known, somebody watered before a bed suffered.
    """
    if np.isnan(observed.tmin_c[-SOIL_MEMORY_D:]).any():
        return None
    count, beds = len(watered_mm) - 2, len(garden.bed)
    asked = bed_days(garden, observed.first, count + 1, entries)
    rained_on = np.array([bed.rained_on for bed in garden.bed], dtype=float)
    area_m2 = np.array([bed.area for bed in garden.bed])
    et0 = daily_et0_mm(
        observed.tmin_c,
        observed.tmax_c,
        observed.first,
        latitude_deg=garden.garden.latitude,
        bias=hargreaves_bias(record, garden.garden.latitude),
    )
    raw_mm = asked.raw_for(np.append(et0, 0.0))
    demand = asked.demand(raw_mm)
    surface, depletion = np.zeros((2, beds))
    lacks_mm, drawn_mm = np.zeros((2, count, beds))
    for index in range(count):
        day = dual_step(
            surface,
            depletion,
            rain_mm=np.nan_to_num(observed.rain_mm[index]) * rained_on,
            irrigation_mm=watered_mm[index],
            et0_mm=et0[index],
            **{name: value[index] for name, value in demand.items()},
        )
        surface, depletion = day.surface_mm, day.depletion_mm
        if index < unknown_d:
            kept_mm = np.where(asked.grows[index], raw_mm[index], np.inf)
            depletion = np.minimum(depletion, kept_mm)
        lacks_mm[index] = depletion
        drawn_mm[index] = day.evaporation_mm + asked.kcb[index] * et0[index]
    watered, raw_mm, grows = watered_mm[1:-1] > 0.0, raw_mm[:-1], asked.grows[:-1]
    outdoors = watered & grows & (rained_on > 0.0)
    every_d = rounds_every_d(outdoors, (lacks_mm > ASKS_MM) & grows & (rained_on > 0.0), had_water)
    share = asks_share(outdoors, lacks_mm / raw_mm, had_water, every_d=every_d)
    asks = (lacks_mm > asks_at_mm(share, raw_mm, rained_on > 0.0)) & grows
    drawn_mm *= asks
    owed_mm = _owed_mm(drawn_mm, asks, watered_mm[:-1])
    return _Soil(asked, surface, depletion, owed_mm, drawn_mm @ area_m2, asks, share)


def _owed_mm(drawn_mm: Days, asks: NDArray[np.bool_], watered_mm: Days) -> Days:
    """Return what each bed drew since it was last watered, while it asked for water."""
    owed = np.zeros(drawn_mm.shape[1])
    for drawn, asked_water, watered in zip(drawn_mm, asks, watered_mm, strict=False):
        owed = (owed * (watered == 0.0) + drawn) * asked_water
    owed *= watered_mm[-1] == 0.0
    return owed


def _beds_now(
    garden: Garden,
    soil: _Soil | None,
    watered_mm: Days,
    entries: Sequence[Entry],
    today: date,
) -> tuple[BedNow, ...]:
    if soil is None:
        return ()
    beds = []
    since_d = np.argmax(watered_mm[::-1] > 0, axis=0)
    since_d[~(watered_mm > 0).any(axis=0)] = len(watered_mm)
    for column, bed in enumerate(garden.bed):
        standing = standing_on(garden, bed, today, entries)
        taw = float(soil.asked.taw_mm[-1, column])
        beds.append(
            BedNow(
                bed.name,
                min(float(soil.depletion_mm[column]), taw),
                taw,
                float(soil.asked.raw_mm[-1, column]),
                standing.crop if standing else None,
                surface_mm=float(soil.surface_mm[column]),
                owed_mm=float(soil.owed_mm[column]),
                watered_d_ago=int(since_d[column]),
            )
        )
    return tuple(beds)
