"""Carries every member of the ensemble through the days ahead."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from steepwell.model.ageing import LEAST_DAYS, READY_AGE_D, ageing_per_day
from steepwell.model.vessel import mean_and_end, time_constant_h
from steepwell.outlook.future_water import run_water
from steepwell.outlook.observed import share_of_today_left

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden
    from steepwell.outlook.demand import BedDays
    from steepwell.outlook.draws import Draws
    from steepwell.outlook.state import State
    from steepwell.outlook.weather import Weather

SHORTEST_SPAN_D = 1e-6

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


def run_futures(
    garden: Garden, state: State, weather: Weather, asked: BedDays, draws: Draws
) -> Futures:
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
    draws
        What the members start with.

    Returns
    -------
    Futures
        Values at the end of each local day.
    """
    water = run_water(garden, state, weather, asked, draws)
    age_d, ready_in_d = _run_vessels(garden, state, weather)
    return Futures(**water, age_d=age_d, ready_in_d=ready_in_d)


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
