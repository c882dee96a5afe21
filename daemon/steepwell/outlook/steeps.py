"""The steeps as the journal and the probes tell them: contents, temperature, age."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np

from steepwell.clock import to_ms
from steepwell.model.ageing import thermal_age_d
from steepwell.model.vessel import cool, time_constant_h
from steepwell.outlook.observed import Observed, hand_temperature, local_day
from steepwell.outlook.state import SteepNow
from steepwell.store.entries import DrawnOff, Entry, SteepStarted
from steepwell.store.steeps import steep_in

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from steepwell.garden.garden import Garden
    from steepwell.garden.growing import Vessel
    from steepwell.store.readings import HourFact
    from steepwell.store.store import Store

HOUR_MS = 3_600_000


def steeps_now(
    garden: Garden,
    store: Store,
    observed: Observed,
    entries: Sequence[Entry],
    now: datetime,
) -> tuple[SteepNow, ...]:
    """Return every vessel with its steep.

    Parameters
    ----------
    garden
        The garden.
    store
        Where the readings are.
    observed
        The weather, which stands in where a vessel has no probe or it was not heard.
    entries
        The journal.
    now
        The moment of the job.

    Returns
    -------
    tuple of SteepNow
        In the order of the garden file.
    """
    starts = {vessel.name: steep_in(entries, vessel.name, now) for vessel in garden.vessel}
    begun = [start.at for start in starts.values() if start]
    probes = {
        vessel.name: probe.name
        for vessel in garden.vessel
        if (probe := garden.temperature_sensor(vessel.name))
    }
    since = min([*begun, now - timedelta(days=1)])
    facts: dict[str, list[HourFact]] = {probe: [] for probe in probes.values()}
    for fact in store.readings.hourly(sorted(facts), since, now) if probes else ():
        facts[fact.sensor].append(fact)
    return tuple(
        _steep_now(
            garden,
            vessel,
            starts[vessel.name],
            observed,
            entries,
            now=now,
            facts=facts[probes[vessel.name]] if vessel.name in probes else [],
        )
        for vessel in garden.vessel
    )


def _steep_now(
    garden: Garden,
    vessel: Vessel,
    start: SteepStarted | None,
    observed: Observed,
    entries: Sequence[Entry],
    *,
    now: datetime,
    facts: Sequence[HourFact],
) -> SteepNow:
    begin = start.at if start else now - timedelta(hours=1)
    hours = _hourly_temperatures(garden, vessel, observed, facts, begin=begin, now=now)
    by_hand = hand_temperature(garden, entries, vessel.name, local_day(garden, now))
    temperature_c = float(hours[-1]) if by_hand is None else by_hand
    if start is None:
        return SteepNow(vessel.name, temperature_c, None, 0.0, 0.0, 0.0, ())
    first_hour = 1.0 - (to_ms(begin) % HOUR_MS) / HOUR_MS
    last_hour = (to_ms(now) % HOUR_MS) / HOUR_MS
    spans = np.ones(len(hours))
    spans[0] = first_hour
    spans[-1] = last_hour if len(hours) > 1 else max(last_hour + first_hour - 1.0, 0.0)
    filled_l = vessel.liquid_l if start.water_l is None else start.water_l
    drawn_l = _drawn_l(vessel, start, entries)
    return SteepNow(
        vessel.name,
        temperature_c,
        start.at,
        float(thermal_age_d(hours, spans)),
        max(filled_l - drawn_l, 0.0),
        drawn_l,
        tuple(matter.plant for matter in start.matter),
    )


def _hourly_temperatures(
    garden: Garden,
    vessel: Vessel,
    observed: Observed,
    facts: Sequence[HourFact],
    *,
    begin: datetime,
    now: datetime,
) -> NDArray[np.float64]:
    first_ms = to_ms(begin) // HOUR_MS * HOUR_MS
    count = (to_ms(now) - first_ms) // HOUR_MS + 1
    hours = np.full(count, np.nan)
    for fact in facts:
        index = (fact.hour_ms - first_ms) // HOUR_MS
        if 0 <= index < count:
            hours[index] = fact.mean
    if count > 1 and np.isnan(hours[-1]):
        hours[-1] = hours[-2]
    unknown = np.isnan(hours)
    if unknown.any():
        modelled = _modelled(garden, vessel, observed, begin=begin, now=now, count=count)
        hours[unknown] = modelled[unknown]
    return hours


def _modelled(
    garden: Garden,
    vessel: Vessel,
    observed: Observed,
    *,
    begin: datetime,
    now: datetime,
    count: int,
) -> NDArray[np.float64]:
    """Return the temperature a vessel has by the air of its days, hour by hour."""
    tau_h = time_constant_h(vessel.liquid_l, vessel.insulation)
    day, today = local_day(garden, begin), local_day(garden, now)
    temperature_c = observed.mean_c(max(day, observed.first))
    daily = []
    while day <= today:
        air_c = observed.mean_c(max(day, observed.first))
        temperature_c = cool(temperature_c, air_c, hours=24.0, time_constant_h=tau_h)
        daily.append(temperature_c)
        day += timedelta(days=1)
    return np.asarray(daily)[np.minimum(np.arange(count) // 24, len(daily) - 1)]


def _drawn_l(vessel: Vessel, start: SteepStarted, entries: Sequence[Entry]) -> float:
    return sum(
        entry.litres
        for entry in entries
        if isinstance(entry, DrawnOff) and entry.vessel == vessel.name and entry.at >= start.at
    )
