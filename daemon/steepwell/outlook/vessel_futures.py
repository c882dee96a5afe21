"""Carries the steeps of every member through the days ahead."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from steepwell.model.ageing import ageing_per_day, swing_factor
from steepwell.model.vessel import mean_and_end
from steepwell.model.warmth import Warmth, presumed_warmth, solar_by_et0_mj
from steepwell.outlook.observed import share_of_today_left

if TYPE_CHECKING:
    from datetime import datetime

    from steepwell.garden.garden import Garden
    from steepwell.outlook.state import State, SteepNow
    from steepwell.outlook.weather import Weather

SHORTEST_SPAN_D = 1e-6

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class SteepDraws:
    """What the members make of what is not known of the steeps; arrays are (vessels, members).

    Attributes
    ----------
    age_d
        Thermal age now [d].
    sun_k, offset_c
        As ``Warmth`` has them [K m2/MJ, K].
    """

    age_d: Array
    sun_k: Array
    offset_c: Array


def likely_steeps(garden: Garden, state: State) -> SteepDraws:
    """Return what is most likely, for one member that stands for all.

    Parameters
    ----------
    garden
        The garden.
    state
        What is so now.

    Returns
    -------
    SteepDraws
        With a single member.
    """
    warmths = _warmths(garden, state)
    return SteepDraws(
        *(
            np.array(values, dtype=float).reshape(-1, 1)
            for values in (
                [steep.thermal_age_d for steep in state.vessels],
                [warmth.sun_k for warmth in warmths],
                [warmth.offset_c for warmth in warmths],
            )
        )
    )


def uncertain_steeps(
    garden: Garden, state: State, members: int, rng: np.random.Generator
) -> SteepDraws:
    """Return draws as far apart as the knowledge of the vessels is uncertain.

    A vessel that is warmer than thought has been so in the past too, while no probe was heard.

    Parameters
    ----------
    garden
        The garden.
    state
        What is so now.
    members
        How many.
    rng
        Draws them.

    Returns
    -------
    SteepDraws
        From normal distributions; no age and no gain of the sun is less than nothing.
    """
    likely = likely_steeps(garden, state)
    age_d, sun_k, offset_c = (
        np.repeat(values, members, axis=1)
        for values in (likely.age_d, likely.sun_k, likely.offset_c)
    )
    drawn = zip(state.vessels, _warmths(garden, state), strict=True)
    for index, (steep, warmth) in enumerate(drawn):
        if steep.started is None:
            continue
        doubt = steep.doubt
        first, second, third, fourth = rng.standard_normal((4, members))
        sun_sd, offset_sd = np.sqrt(warmth.sun_var), np.sqrt(warmth.offset_var)
        together = warmth.both_var / (sun_sd * offset_sd) if sun_sd * offset_sd > 0 else 0.0
        sun = np.maximum(warmth.sun_k + sun_sd * first, 0.0)
        own = offset_sd * (together * first + np.sqrt(1.0 - together**2) * second)
        warmer_c = own + (sun - warmth.sun_k) * doubt.past_sun_mj
        aged_d = doubt.older_d_per_k * warmer_c + doubt.age_sd_d * third
        age_d[index] = np.maximum(age_d[index] + aged_d, 0.0)
        sun_k[index] = sun
        offset_c[index] += own + doubt.beside_sd_c * fourth
    return SteepDraws(age_d, sun_k, offset_c)


def _warmths(garden: Garden, state: State) -> list[Warmth]:
    return [
        steep.warmth or presumed_warmth(vessel.liquid_l, vessel.insulation)
        for vessel, steep in zip(garden.vessel, state.vessels, strict=True)
    ]


def run_vessels(
    garden: Garden, state: State, weather: Weather, draws: SteepDraws
) -> tuple[Array, Array]:
    """Carry all members' steeps through the days of the weather.

    Parameters
    ----------
    garden
        The garden.
    state
        What is so now.
    weather
        The members' weather; its first day is today.
    draws
        What the members start with.

    Returns
    -------
    age_d : array
        Thermal ages at the end of each day; (days, vessels, members) [d].
    ready_in_d : array
        Days until each is ready, infinite beyond the horizon; (vessels, members) [d].
    """
    days, members = weather.mean_c.shape
    if not garden.vessel:
        return np.zeros((days, 0, members)), np.zeros((0, members))
    spans_d = np.ones(days)
    spans_d[0] = max(share_of_today_left(garden, state.now), SHORTEST_SPAN_D)
    ages = _ages(garden, state, weather, draws, spans_d)
    ready_d = np.array([[vessel.ready_age_d] for vessel in garden.vessel])
    least_d = np.array([[vessel.least_days] for vessel in garden.vessel])
    # The matter that has to ripen may have gone in after the first.
    younger_d = np.array([[_younger_d(steep)] for steep in state.vessels])
    passed_d = np.array([[_passed_d(steep, state.now)] for steep in state.vessels])
    crossing_d = _crossing_d(ages, draws.age_d, spans_d, ready_d + younger_d)
    ready_in_d = np.maximum(crossing_d, least_d - passed_d)
    for index, steep in enumerate(state.vessels):
        if steep.started is None or steep.ended:
            ready_in_d[index] = np.inf
        elif steep.dilution_parts is not None:
            ready_in_d[index] = 0.0
    return ages, ready_in_d


def _younger_d(steep: SteepNow) -> float:
    return 0.0 if steep.ripens_age_d is None else steep.thermal_age_d - steep.ripens_age_d


def _passed_d(steep: SteepNow, now: datetime) -> float:
    if steep.ripens_from is None:
        return steep.calendar_age_d(now)
    return (now - steep.ripens_from) / timedelta(days=1)


def _ages(
    garden: Garden, state: State, weather: Weather, draws: SteepDraws, spans_d: Array
) -> Array:
    """Return the thermal age of each steep at the end of each day."""
    days, members = weather.mean_c.shape
    ages = np.empty((days, len(garden.vessel), members))
    age = draws.age_d
    temperature = np.array([[_level_c(steep)] for steep in state.vessels])
    tau_h = np.array([[warmth.time_constant_h] for warmth in _warmths(garden, state)])
    faster = np.array([[_swing_factor(steep)] for steep in state.vessels])
    sun_mj = solar_by_et0_mj(weather.et0_mm, weather.mean_c)
    for day, span_d in enumerate(spans_d):
        rest = draws.sun_k * sun_mj[day]
        rest += draws.offset_c
        rest += weather.mean_c[day]
        mean, temperature = mean_and_end(
            temperature, rest, hours=24.0 * span_d, time_constant_h=tau_h
        )
        # Single precision is ample for a rate, and its exponential takes a tenth of the time.
        mean_single: NDArray[Any] = mean.astype(np.float32)
        aged = ageing_per_day(mean_single)
        aged *= (span_d * faster).astype(np.float32)
        ages[day] = aged
        ages[day] += age
        age = ages[day]
    return ages


def _level_c(steep: SteepNow) -> float:
    return steep.temperature_c if steep.level_c is None else steep.level_c


def _swing_factor(steep: SteepNow) -> float:
    return float(swing_factor(_level_c(steep), steep.swing_sd_c))


def _crossing_d(ages: Array, start_d: Array, spans_d: Array, ready_d: Array) -> Array:
    """Return after how many days each age passes the ready age, infinite if it does not."""
    before = np.count_nonzero(ages < ready_d, axis=0)
    last = len(ages) - 1
    after = np.take_along_axis(ages, np.minimum(before, last)[None], axis=0)[0]
    earlier = np.take_along_axis(ages, np.maximum(before - 1, 0)[None], axis=0)[0]
    earlier = np.where(before == 0, start_d, earlier)
    ends = np.concatenate([[0.0], np.cumsum(spans_d)])
    span = np.append(spans_d, 1.0)[before]
    share = np.clip((ready_d - earlier) / np.maximum(after - earlier, 1e-9), 0.0, 1.0)
    crossed: Array = np.where(before > last, np.inf, ends[before] + share * span)
    return np.where(start_d >= ready_d, 0.0, crossed)
