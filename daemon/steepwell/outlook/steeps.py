"""The steeps as the journal and the probes tell them: contents, temperature, age."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import datetime, timedelta
from itertools import groupby
from operator import attrgetter
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from steepwell.clock import from_ms, to_ms
from steepwell.garden.days import local_day
from steepwell.model.ageing import ageing_per_day
from steepwell.model.warmth import presumed_warmth
from steepwell.outlook.falling import GUESS
from steepwell.outlook.observed import Observed, hand_temperature
from steepwell.outlook.state import Doubt, SteepNow
from steepwell.outlook.steep_fold import (
    binding_cohort,
    fold_steep,
    gives_feed,
    has_ended,
    label_parts,
    ready_since,
)
from steepwell.outlook.vessel_air import AirDays, air_days, usual_sd_c
from steepwell.outlook.vessel_past import (
    Past,
    learned_from,
    level_now_c,
    past_temperatures,
    swing_sd_c,
)
from steepwell.store.entries import DrawnOff
from steepwell.store.steeps import steep_in, steeping_spans

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.garden.garden import Garden
    from steepwell.garden.growing import Vessel
    from steepwell.outlook.record import Record
    from steepwell.store.entries import Entry, SteepStarted
    from steepwell.store.store import Store

# How far vessels that share a probe are from one another, from memory: one stands nearer the wall.
BESIDE_SD_C = 0.7
# How far a cheap probe is off, always alike; from memory, anything up to half a kelvin.
PROBE_SD_C = 0.3
# What a probe teaches is older than this by another season.
LEARNING_D = 60
HALF_KELVIN = 0.5

Facts = NDArray[np.float64]


def steeps_now(
    garden: Garden,
    store: Store,
    observed: Observed,
    record: Record | None,
    *,
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
    record
        The weather record, or None.
    entries
        The journal.
    now
        The moment of the job.

    Returns
    -------
    tuple of SteepNow
        In the order of the garden file.
    """
    starts = [steep_in(entries, vessel.name, now) for vessel in garden.vessel]
    begun = [start.at for start in starts if start]
    facts = _facts(garden, store, min([*begun, now - timedelta(days=LEARNING_D)]), now)
    air = air_days(garden, observed, record)
    steeps = []
    for vessel in garden.vessel:
        probe = garden.temperature_sensor(vessel.name)
        heard = facts[probe.name] if probe else np.zeros((0, 2))
        told = steep_now(garden, vessel, air, heard, record=record, entries=entries, now=now)
        by_hand = hand_temperature(garden, entries, vessel.name, local_day(garden, now))
        steeps.append(told if by_hand is None else replace(told, temperature_c=by_hand))
    return tuple(steeps)


def steep_now(
    garden: Garden,
    vessel: Vessel,
    air: AirDays,
    heard: ArrayLike,
    *,
    record: Record | None,
    entries: Sequence[Entry],
    now: datetime,
) -> SteepNow:
    """Return one vessel with its steep.

    Parameters
    ----------
    garden
        The garden.
    vessel
        The vessel.
    air
        The air and the sun up to today.
    heard
        Hours in which its probe was heard, and the mean of each; (hours, 2) [ms since 1970, °C].
    record
        What the air is guessed from where it was not measured, or None.
    entries
        The journal.
    now
        The moment of the job.

    Returns
    -------
    SteepNow
        As it is now.
    """
    steeping = [(to_ms(a), to_ms(b)) for a, b in steeping_spans(entries, vessel.name, now)]
    presumed = presumed_warmth(vessel.liquid_l, vessel.insulation)
    warmth = learned_from(presumed, air, heard, steeping)
    start = steep_in(entries, vessel.name, now)
    begin = start.at if start else now - timedelta(hours=1)
    past = past_temperatures(warmth, air, heard, begin, now)
    temperature_c = float(past.hours_c[-1])
    if start is None:
        return SteepNow(vessel.name, temperature_c, None, 0.0, 0.0, 0.0, (), warmth=warmth)
    probe = garden.temperature_sensor(vessel.name)
    beside = probe is not None and vessel.name != probe.places[0]
    fold = fold_steep(vessel, start, entries, past, air)
    since = ready_since(fold, vessel, past)
    ended = since is not None and has_ended(fold, vessel)
    told = since is not None and not ended and gives_feed(fold, vessel)
    ripening_ms = fold.went_in_ms[binding_cohort(fold)]
    clock = past.clock()
    return SteepNow(
        vessel.name,
        temperature_c,
        start.at,
        past.age_d(),
        fold.contents.liquid_l,
        fold.drawn_l,
        tuple(fold.plants),
        solids_l=fold.solids_l,
        dilution_parts=label_parts(fold, vessel, start, now) if told else None,
        warmth=warmth,
        doubt=doubt_of(past, air, record, beside=beside),
        level_c=level_now_c(past, air, warmth),
        swing_sd_c=swing_sd_c(past),
        ready_since=since if told else None,
        ended=ended,
        ripens_from=from_ms(ripening_ms),
        ripens_age_d=clock(past.end_ms) - clock(ripening_ms),
        contents=fold.contents,
        presumed_l=_presumed_l(entries, start),
    )


def _presumed_l(entries: Sequence[Entry], start: SteepStarted) -> float:
    """Return what counts as drawn though nobody said so [L]."""
    return sum(
        entry.litres
        for entry in entries
        if isinstance(entry, DrawnOff)
        and entry.by == GUESS
        and entry.vessel == start.vessel
        and entry.at >= start.at
    )


def _facts(garden: Garden, store: Store, since: datetime, now: datetime) -> dict[str, Facts]:
    """Return in which hours each probe of a vessel was heard, and the mean of each."""
    probes = [garden.temperature_sensor(vessel.name) for vessel in garden.vessel]
    names = sorted({probe.name for probe in probes if probe})
    hours = store.readings.hourly(names, since, now) if names else []
    heard = {
        name: np.array([(hour.hour_ms, hour.mean) for hour in of_probe])
        for name, of_probe in groupby(hours, key=attrgetter("sensor"))
    }
    return {name: heard.get(name, np.zeros((0, 2))) for name in names}


def doubt_of(past: Past, air: AirDays, record: Record | None, *, beside: bool) -> Doubt:
    """Return by what the age of a steep may be off.

    Parameters
    ----------
    past
        Its temperatures.
    air
        The air that stands in for hours without a probe.
    record
        What the air is guessed from where it was not measured.
    beside
        Whether its probe hangs in another vessel.

    Returns
    -------
    Doubt
        Nothing where a probe of its own was heard all the time.
    """
    spans_d = past.spans_h(past.begin_ms, past.end_ms) / 24.0
    warmer, cooler = past.hours_c + HALF_KELVIN, past.hours_c - HALF_KELVIN
    per_k = (ageing_per_day(warmer) - ageing_per_day(cooler)) * spans_d
    guessed = ~past.measured
    days = range(air.index(past.begin_ms), air.index(past.end_ms) + 1)
    unseen = [day for day in days if air.guessed[day]]
    share = len(unseen) / len(days)
    older_d_per_k = float(per_k[guessed].sum())
    air_sd_c = usual_sd_c(record, air.day(unseen[0]), air.day(unseen[-1])) if unseen else 0.0
    beside_sd_c = BESIDE_SD_C if beside else 0.0
    measured_sd_c = math.hypot(PROBE_SD_C, beside_sd_c)
    measured_d = float(per_k[past.measured].sum()) * measured_sd_c
    return Doubt(
        older_d_per_k,
        float(air.sun_mj[days.start : days.stop].mean()),
        math.hypot(older_d_per_k * share * air_sd_c, measured_d),
        beside_sd_c,
    )
