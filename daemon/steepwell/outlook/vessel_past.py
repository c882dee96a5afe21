"""How warm a vessel has been, hour by hour: by its probe where it was heard, else by the air."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from steepwell.clock import to_ms
from steepwell.model.ageing import ageing_per_day
from steepwell.model.vessel import cool, swing
from steepwell.model.warmth import Warmth, learned_warmth

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from datetime import datetime

    from steepwell.outlook.vessel_air import AirDays

HOUR_MS = 3_600_000
# A day's mean counts as measured if the probe was heard for most of it.
LEAST_HOURS = 20
# The water that fills a vessel has followed the air like the vessel itself, for about so long.
RUN_UP_H = 120
DAY_H = 24
# When the air is warmest, hours after midnight; from memory.
WARMEST_H = 15.0
SWING_D = 7
# An age summed over many hours misses a round number by the last digits of a float.
ROUNDING = 1e-9

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Past:
    """The temperatures of a vessel since a moment.

    Attributes
    ----------
    begin_ms, end_ms
        The moment, and now [ms since 1970].
    hours_c
        Mean temperature of each clock hour, the one of the moment first [°C].
    measured
        Whether the probe was heard in it.
    """

    begin_ms: int
    end_ms: int
    hours_c: Array
    measured: NDArray[np.bool_]

    def spans_h(self, since_ms: int, until_ms: int) -> Array:
        """Return how much of each hour lies between two moments [h]."""
        starts = self.begin_ms // HOUR_MS * HOUR_MS + HOUR_MS * np.arange(len(self.hours_c))
        inside = np.minimum(starts + HOUR_MS, until_ms) - np.maximum(starts, since_ms)
        spans: Array = np.maximum(inside, 0) / HOUR_MS
        return spans

    def clock(self) -> Callable[[int], float]:
        """Return how much matter has aged from the beginning to any moment [d at 17 °C]."""
        edges, ages = self._ageing()
        return lambda time_ms: float(np.interp(time_ms, edges, ages))

    def age_d(self) -> float:
        """Return how old matter is that went in at the beginning [d at 17 °C]."""
        clock = self.clock()
        return clock(self.end_ms) - clock(self.begin_ms)

    def reached_ms(self, since_ms: int, age_d: float) -> int | None:
        """Return when matter that went in at a moment had come to an age, None if it has not."""
        edges, ages = self._ageing()
        wanted_d = np.interp(since_ms, edges, ages) + age_d - ROUNDING
        if not np.interp(self.end_ms, edges, ages) >= wanted_d:
            return None
        hours = np.arange(since_ms // HOUR_MS * HOUR_MS + HOUR_MS, self.end_ms, HOUR_MS)
        reached = hours[np.interp(hours, edges, ages) >= wanted_d]
        return int(reached[0]) if len(reached) else self.end_ms

    def _ageing(self) -> tuple[Array, Array]:
        """Return the edges of the hours and how much matter has aged by each [ms, d at 17 °C]."""
        first_ms = self.begin_ms // HOUR_MS * HOUR_MS
        edges = first_ms + HOUR_MS * np.arange(len(self.hours_c) + 1.0)
        ages = np.concatenate([[0.0], np.cumsum(ageing_per_day(self.hours_c))]) / DAY_H
        return edges, ages


def past_temperatures(
    warmth: Warmth, air: AirDays, facts: ArrayLike, begin: datetime, now: datetime
) -> Past:
    """Return how warm a vessel has been.

    Parameters
    ----------
    warmth
        How it follows the air.
    air
        The air and the sun.
    facts
        Hours in which its probe was heard, and the mean of each; (hours, 2) [ms since 1970, °C].
    begin, now
        From when to when.

    Returns
    -------
    Past
        Its hours; those without the probe carry on from the last one heard.
    """
    first_ms = to_ms(begin) // HOUR_MS * HOUR_MS
    count = (to_ms(now) - first_ms) // HOUR_MS + 1
    hours = np.full(RUN_UP_H + count, np.nan)
    heard_ms, means_c = _columns(facts)
    at = ((heard_ms - first_ms) // HOUR_MS).astype(int) + RUN_UP_H
    inside = (at >= RUN_UP_H) & (at < len(hours))
    hours[at[inside]] = means_c[inside]
    measured = ~np.isnan(hours)
    if measured[-2] and not measured[-1] and count > 1:
        hours[-1] = hours[-2]
    _carry_on(hours, warmth, air, first_ms - RUN_UP_H * HOUR_MS)
    return Past(to_ms(begin), to_ms(now), hours[RUN_UP_H:], measured[RUN_UP_H:])


def _columns(facts: ArrayLike) -> tuple[Array, Array]:
    """Return the hours of some facts and their values."""
    hours_ms, values = np.asarray(facts, dtype=float).reshape(-1, 2).T
    return hours_ms, values


def _carry_on(hours: Array, warmth: Warmth, air: AirDays, first_ms: int) -> None:
    """Fill in the hours that are not known: a level that follows the days, and their swing."""
    unknown = np.isnan(hours)
    if not unknown.any():
        return
    times = first_ms + HOUR_MS * np.arange(len(hours))
    day = np.clip(np.searchsorted(air.begins_ms, times, side="right") - 1, 0, len(air.mean_c) - 1)
    rest = (air.mean_c + warmth.offset_c + warmth.sun_k * air.sun_mj)[day]
    share, lag_h = swing(warmth.time_constant_h)
    hour = (times - air.begins_ms[day]) / HOUR_MS + 0.5
    turned = 2.0 * np.pi * (hour - WARMEST_H - lag_h) / DAY_H
    swinging = 0.5 * share * air.range_c[day] * np.cos(turned)
    kept = np.exp(-1.0 / warmth.time_constant_h)
    level_c = float(air.mean_c[day[0]])
    for at in range(int(np.flatnonzero(unknown)[-1]) + 1):
        if unknown[at]:
            level_c = float(rest[at] + (level_c - rest[at]) * kept)
            hours[at] = level_c + swinging[at]
        else:
            level_c = float(hours[at] - swinging[at])


def swing_sd_c(past: Past) -> float:
    """Return how far the hours of the last days lie from the mean of their days [K]."""
    days = min(len(past.hours_c) // DAY_H, SWING_D)
    if not days:
        return 0.0
    hours = past.hours_c[-days * DAY_H :].reshape(days, DAY_H)
    return float(np.sqrt(np.mean(np.var(hours, axis=1))))


def level_now_c(past: Past, air: AirDays, warmth: Warmth) -> float | None:
    """Return the temperature of a vessel without the rise and fall of the day.

    Members follow the mean temperature of days. The mean of the last 24 hours is that of twelve
    hours ago; it follows the air from there.

    Parameters
    ----------
    past
        Its temperatures.
    air
        The air and the sun.
    warmth
        How it follows them.

    Returns
    -------
    float or None
        The temperature; None where there are no 24 hours of it [°C].
    """
    if len(past.hours_c) < DAY_H:
        return None
    today = air.index(past.end_ms)
    return float(
        cool(
            float(past.hours_c[-DAY_H:].mean()),
            float(air.mean_c[today]) + warmth.offset_c,
            hours=DAY_H / 2,
            time_constant_h=warmth.time_constant_h,
            sun_gain_c=warmth.sun_k * float(air.sun_mj[today]),
        )
    )


def learned_from(
    presumed: Warmth,
    air: AirDays,
    facts: ArrayLike,
    steeping: Sequence[tuple[int, int]],
) -> Warmth:
    """Return what the probe of a vessel has taught of it.

    Parameters
    ----------
    presumed
        What is thought of it beforehand.
    air
        The air and the sun; days that are guessed teach nothing.
    facts
        Hours in which its probe was heard, and the mean of each; (hours, 2) [ms since 1970, °C].
    steeping
        From when to when it held a steep; empty it is as warm as the air [ms since 1970].

    Returns
    -------
    Warmth
        As presumed where it was never heard.
    """
    times, means = _columns(facts)
    if not len(times):
        return presumed
    full = np.zeros(len(times), dtype=bool)
    for begin_ms, end_ms in steeping:
        full |= (times >= begin_ms) & (times < end_ms)
    day = np.searchsorted(air.begins_ms, times[full], side="right") - 1
    inside = (day >= 0) & (day < len(air.mean_c) - 1)
    heard = np.bincount(day[inside], minlength=len(air.mean_c))
    total = np.bincount(day[inside], weights=means[full][inside], minlength=len(air.mean_c))
    measured = np.where(heard >= LEAST_HOURS, total / np.maximum(heard, 1), np.nan)
    measured[air.guessed] = np.nan
    first = int(np.argmax(np.isfinite(measured)))
    return learned_warmth(presumed, measured[first:], air.mean_c[first:], air.sun_mj[first:])
