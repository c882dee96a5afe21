"""Carries every member of the ensemble through the days ahead."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from steepwell.model.ageing import LEAST_DAYS, READY_AGE_D, ageing_per_day
from steepwell.model.soil import root_zone_step
from steepwell.model.vessel import mean_and_end, time_constant_h
from steepwell.outlook.butts import chain_of
from steepwell.outlook.habit import ASKS_MM
from steepwell.outlook.observed import local_day, midnight

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden
    from steepwell.outlook.calendar import BedDays
    from steepwell.outlook.state import State
    from steepwell.outlook.weather import Weather

# The gardener goes round in the evening.
EVENING_HOUR = 19
LEAST_WATERING_MM = 5.0
SHORTEST_SPAN_D = 1e-6
WEEK_D = 7

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Futures:
    """What the members come to, at the end of each local day.

    Attributes
    ----------
    volume_l
        Water in each butt, in the order of the garden file; (days, butts, members) [L].
    full
        Whether a butt spilled or passed water on that day; as ``volume_l``.
    wanted_l, given_l, spilled_l
        Water the gardener wants to give, has to give, and water lost to the ground;
        (days, members) [L].
    bed_wanted_l
        What each bed lacks after seven days without watering, nothing if it is less than 5 L/m²;
        (beds, members) [L].
    stressed
        Whether a bed's crop suffered that day; (days, beds, members).
    age_d
        Thermal age of the steep in each vessel; (days, vessels, members) [d].
    ready_in_d
        Days until each is ready, infinite beyond the horizon; (vessels, members) [d].
    """

    volume_l: Array
    full: NDArray[np.bool_]
    wanted_l: Array
    given_l: Array
    spilled_l: Array
    bed_wanted_l: Array
    stressed: NDArray[np.bool_]
    age_d: Array
    ready_in_d: Array


def run_futures(garden: Garden, state: State, weather: Weather, asked: BedDays) -> Futures:
    """Carry all members from now through the days of the weather.

    Parameters
    ----------
    garden
        The garden.
    state
        What is so now.
    weather
        The members' weather; its first day is today.
    asked
        What the beds ask of the soil on the same days.

    Returns
    -------
    Futures
        Values at the end of each local day.
    """
    water = _run_water(garden, state, weather, asked)
    age_d, ready_in_d = _run_vessels(garden, state, weather)
    return Futures(**water, age_d=age_d, ready_in_d=ready_in_d)


def share_of_today_left(garden: Garden, now: datetime) -> float:
    """Return which part of the local day is still to come [-]."""
    today = local_day(garden, now)
    start, end = midnight(garden, today), midnight(garden, today + timedelta(days=1))
    return (end - now) / (end - start)


def _run_water(garden: Garden, state: State, weather: Weather, asked: BedDays) -> dict[str, Any]:
    """Return the fields of ``Futures`` that are about water and beds."""
    days, members = weather.rain_mm.shape
    chain = chain_of(garden)
    beds, butts = len(garden.bed), len(garden.butt)
    order = list(chain.order)
    area = np.array([bed.area for bed in garden.bed])
    rained_on = np.array([bed.rained_on for bed in garden.bed], dtype=float)[:, None]
    dead = np.array(chain.dead_l)[:, None]
    capacity = np.array(chain.capacity_l)[:, None]

    volume_out = np.empty((days, butts, members))
    full = np.empty((days, butts, members), dtype=bool)
    stressed = np.empty((days, beds, members), dtype=bool)
    wanted, given, spilled = (np.zeros((days, members)) for _ in range(3))

    start_l = np.array([state.butts[index].volume_l for index in order])
    volume = np.repeat(start_l[:, None], members, axis=1)
    start_mm = np.array([bed.depletion_mm for bed in state.beds])
    depletion = np.repeat(start_mm[:, None], members, axis=1)
    # Of today's rain only a part is still to come; what fell is in the butts, not yet in the beds.
    to_come, fell_mm = np.ones(days), np.zeros(days)
    to_come[0], fell_mm[0] = share_of_today_left(garden, state.now), state.rain_today_mm
    irrigation = np.array(state.watered_today_mm)[:, None]
    evening_is_over = state.now.astimezone(garden.garden.zone).hour >= EVENING_HOUR
    # Where nothing grows, nothing suffers and nothing is watered, however dry it is.
    suffers_mm = np.where(asked.grows, asked.raw_mm, np.inf)[:, :, None]
    asks_mm = np.where(asked.grows, ASKS_MM, np.inf)[:, :, None]

    for day in range(days):
        rain_mm = weather.rain_mm[day] * to_come[day]
        volume, lost = chain.pour(volume, chain.inflow_l(rain_mm))
        full[day, order] = volume >= capacity
        spilled[day] = lost.sum(axis=0)
        etc_mm = asked.kc[day][:, None] * weather.et0_mm[day]
        depletion, _, _ = root_zone_step(
            depletion,
            rain_mm=rained_on * (rain_mm + fell_mm[day]),
            irrigation_mm=irrigation if day == 0 else 0.0,
            etc_mm=etc_mm,
            taw_mm=asked.taw_mm[day][:, None],
            raw_mm=asked.raw_mm[day][:, None],
        )
        np.greater(depletion, suffers_mm[day], out=stressed[day])
        if not (day == 0 and evening_is_over):
            above = np.maximum(volume - dead, 0.0)
            in_hand = above.sum(axis=0)
            drawn_mm = etc_mm * (depletion > asks_mm[day])
            drawn_l = area @ drawn_mm
            wanted[day] = state.use_factor * drawn_l
            given[day] = np.minimum(wanted[day], in_hand)
            depletion -= drawn_mm * _ratio(given[day], drawn_l)
            np.maximum(depletion, 0.0, out=depletion)
            volume -= above * _ratio(given[day], in_hand)
        volume_out[day, order] = volume
    week = slice(WEEK_D)
    week_rain_mm = weather.rain_mm[week] * to_come[week, None] + fell_mm[week, None]
    need_mm = _week_need_mm(start_mm, rained_on, week_rain_mm, weather, asked)
    return {
        "volume_l": volume_out,
        "full": full,
        "wanted_l": wanted,
        "given_l": given,
        "spilled_l": spilled,
        "bed_wanted_l": area[:, None] * need_mm,
        "stressed": stressed,
    }


def _week_need_mm(
    start_mm: Array, rained_on: Array, rain_mm: Array, weather: Weather, asked: BedDays
) -> Array:
    """Return what each bed lacks after a week without watering, where that is worth a can."""
    lacks = np.repeat(start_mm[:, None], rain_mm.shape[1], axis=1)
    for day, fallen_mm in enumerate(rain_mm):
        lacks = np.maximum(lacks - rained_on * fallen_mm, 0.0)
        lacks += asked.kc[day][:, None] * weather.et0_mm[day]
    needs: Array = lacks * ((lacks > LEAST_WATERING_MM) & asked.grows[0][:, None])
    return needs


def _ratio(part: Array, whole: Array) -> Array:
    return part / np.maximum(whole, 1e-9)


def _run_vessels(garden: Garden, state: State, weather: Weather) -> tuple[Array, Array]:
    """Return the ages at the end of each day, and in how many days each vessel is ready."""
    days = len(weather.mean_c)
    if not garden.vessel:
        return np.zeros((days, 0, 0)), np.zeros((0, 0))
    spans_d = np.ones(days)
    spans_d[0] = max(share_of_today_left(garden, state.now), SHORTEST_SPAN_D)
    ages = _ages(garden, state, weather, spans_d)
    start_d = np.array([steep.thermal_age_d for steep in state.vessels])
    least_d = LEAST_DAYS - np.array([steep.calendar_age_d(state.now) for steep in state.vessels])
    ready_in_d = np.maximum(_crossing_d(ages, start_d, spans_d), least_d[:, None])
    ready_in_d[[steep.started is None for steep in state.vessels]] = np.inf
    return ages, ready_in_d


def _ages(garden: Garden, state: State, weather: Weather, spans_d: Array) -> Array:
    """Return the thermal age of each steep at the end of each day; as ``Futures.age_d``."""
    days, members = weather.mean_c.shape
    ages = np.empty((days, len(garden.vessel), members))
    age = np.array([[steep.thermal_age_d] for steep in state.vessels])
    temperature = np.array([[steep.temperature_c] for steep in state.vessels])
    tau_h = np.array([[time_constant_h(v.liquid_l, v.insulation)] for v in garden.vessel])
    for day, span_d in enumerate(spans_d):
        air, hours = weather.mean_c[day], 24.0 * span_d
        mean, temperature = mean_and_end(temperature, air, hours=hours, time_constant_h=tau_h)
        age = np.add(age, ageing_per_day(mean) * span_d, out=ages[day])
    return ages


def _crossing_d(ages: Array, start_d: Array, spans_d: Array) -> Array:
    """Return after how many days each age passes the ready age, infinite if it does not."""
    before = np.count_nonzero(ages < READY_AGE_D, axis=0)
    last = len(ages) - 1
    after = np.take_along_axis(ages, np.minimum(before, last)[None], axis=0)[0]
    earlier = np.take_along_axis(ages, np.maximum(before - 1, 0)[None], axis=0)[0]
    earlier = np.where(before == 0, start_d[:, None], earlier)
    ends = np.concatenate([[0.0], np.cumsum(spans_d)])
    span = np.append(spans_d, 1.0)[before]
    share = np.clip((READY_AGE_D - earlier) / np.maximum(after - earlier, 1e-9), 0.0, 1.0)
    crossed: Array = np.where(before > last, np.inf, ends[before] + share * span)
    crossed[start_d >= READY_AGE_D] = 0.0
    return crossed
