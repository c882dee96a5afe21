"""How warm a vessel has been, hour by hour: by its probe where it was heard, else by the air."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from steepwell.clock import to_ms
from steepwell.model.ageing import ageing_per_day
from steepwell.model.warmth import Warmth, learned_warmth, solar_by_et0_mj
from steepwell.outlook.bridging import same_day
from steepwell.outlook.et0 import daily_et0_mm, hargreaves_bias
from steepwell.outlook.observed import midnight

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date, datetime

    from steepwell.garden.garden import Garden
    from steepwell.outlook.observed import Observed
    from steepwell.outlook.record import Record

HOUR_MS = 3_600_000
# A day's mean counts as measured if the probe was heard for most of it.
LEAST_HOURS = 20
# The water that fills a vessel has followed the air like the vessel itself, for about so long.
RUN_UP_H = 120

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class AirDays:
    """The air and the sun of the days up to today.

    Attributes
    ----------
    first
        The first day.
    begins_ms
        When each local day begins, and the day after the last [ms since 1970].
    mean_c, sun_mj
        Mean temperature and solar radiation of each day; today has those of yesterday
        [°C, MJ/m2].
    guessed
        Whether the temperatures of a day are only what is usual.
    """

    first: date
    begins_ms: NDArray[np.int64]
    mean_c: Array
    sun_mj: Array
    guessed: NDArray[np.bool_]

    def day(self, index: int) -> date:
        """Return the day at a position."""
        return self.first + timedelta(days=index)

    def index(self, time_ms: int) -> int:
        """Return the position of the day that holds a moment, of the nearest one if none does."""
        at = int(np.searchsorted(self.begins_ms, time_ms, side="right")) - 1
        return min(max(at, 0), len(self.mean_c) - 1)


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

    def age_d(self, since_ms: int, until_ms: int) -> float:
        """Return by how much matter has aged between two moments [d at 17 °C]."""
        return float(ageing_per_day(self.hours_c) @ self.spans_h(since_ms, until_ms)) / 24.0

    def reached_ms(self, since_ms: int, age_d: float) -> int | None:
        """Return when matter that went in at a moment had come to an age, None if it has not."""
        spans_h = self.spans_h(since_ms, self.end_ms)
        ages = np.cumsum(ageing_per_day(self.hours_c) * spans_h) / 24.0
        if not ages[-1] >= age_d:
            return None
        hour = int(np.argmax(ages >= age_d))
        return self.begin_ms // HOUR_MS * HOUR_MS + (hour + 1) * HOUR_MS


def air_days(garden: Garden, observed: Observed, record: Record | None) -> AirDays:
    """Return the air and the sun as a vessel has them.

    Parameters
    ----------
    garden
        The garden.
    observed
        Its weather up to yesterday.
    record
        The weather record, or None.

    Returns
    -------
    AirDays
        From the first day of the weather to today.
    """
    latitude_deg = garden.garden.latitude
    bias = hargreaves_bias(record, latitude_deg)
    mean_c = (observed.tmin_c + observed.tmax_c) / 2
    et0_mm = daily_et0_mm(
        observed.tmin_c, observed.tmax_c, observed.first, latitude_deg=latitude_deg, bias=bias
    )
    sun_mj = solar_by_et0_mj(et0_mm, mean_c)
    days = len(mean_c) + 1
    begins = [midnight(garden, observed.day(day)) for day in range(days + 1)]
    return AirDays(
        observed.first,
        np.array([to_ms(begin) for begin in begins]),
        np.append(mean_c, mean_c[-1:]),
        np.append(sun_mj, sun_mj[-1:]),
        np.append(observed.temperature_guessed, observed.temperature_guessed[-1:]),
    )


def usual_sd_c(record: Record | None, first: date, last: date) -> float:
    """Return how far years differ from one another in their mean temperature over some days.

    Parameters
    ----------
    record
        The weather record, or None.
    first, last
        The days.

    Returns
    -------
    float
        Standard deviation over the years that have these days, 0 where there are none [K].
    """
    if record is None or last < first:
        return 0.0
    mean_c = (record.tmin_c + record.tmax_c) / 2
    length = (last - first).days + 1
    years = range(record.first.year, record.first.year + record.days // 365 + 2)
    starts = [(same_day(first, year) - record.first).days for year in years]
    means = [mean_c[at : at + length].mean() for at in starts if 0 <= at <= len(mean_c) - length]
    whole = [value for value in means if np.isfinite(value)]
    return float(np.std(whole)) if whole else 0.0


def past_temperatures(
    warmth: Warmth, air: AirDays, facts: Sequence[tuple[int, float]], begin: datetime, now: datetime
) -> Past:
    """Return how warm a vessel has been.

    Parameters
    ----------
    warmth
        How it follows the air.
    air
        The air and the sun.
    facts
        Hours in which its probe was heard, and the mean of each [ms since 1970, °C].
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
    for hour_ms, mean_c in facts:
        at = (hour_ms - first_ms) // HOUR_MS + RUN_UP_H
        if RUN_UP_H <= at < len(hours):
            hours[at] = mean_c
    measured = ~np.isnan(hours)
    if measured[-2] and not measured[-1] and count > 1:
        hours[-1] = hours[-2]
    _carry_on(hours, warmth, air, first_ms - RUN_UP_H * HOUR_MS)
    return Past(to_ms(begin), to_ms(now), hours[RUN_UP_H:], measured[RUN_UP_H:])


def _carry_on(hours: Array, warmth: Warmth, air: AirDays, first_ms: int) -> None:
    """Fill in the hours that are not known."""
    unknown = np.isnan(hours)
    ends = np.flatnonzero(np.diff(unknown.astype(int), append=0, prepend=0))
    for at, end in zip(ends[::2].tolist(), ends[1::2].tolist(), strict=True):
        temperature_c = hours[at - 1] if at else air.mean_c[air.index(first_ms)]
        _follow_air(hours[at:end], float(temperature_c), warmth, air, first_ms + at * HOUR_MS)


def _follow_air(
    hours: Array, temperature_c: float, warmth: Warmth, air: AirDays, first_ms: int
) -> None:
    """Let a vessel follow the air through hours in a row, and write down the mean of each."""
    at = 0
    while at < len(hours):
        time_ms = first_ms + at * HOUR_MS
        day = air.index(time_ms)
        left = -((time_ms - int(air.begins_ms[day + 1])) // HOUR_MS)
        end = min(len(hours), at + left) if left > 0 and time_ms >= air.begins_ms[0] else at + 24
        end = min(end, len(hours))
        rest = air.mean_c[day] + warmth.offset_c + warmth.sun_k * air.sun_mj[day]
        kept = np.exp(-np.arange(0.5, end - at) / warmth.time_constant_h)
        hours[at:end] = rest + (temperature_c - rest) * kept
        gone = np.exp(-(end - at) / warmth.time_constant_h)
        temperature_c = float(rest + (temperature_c - rest) * gone)
        at = end


def learned_from(
    presumed: Warmth,
    air: AirDays,
    facts: Sequence[tuple[int, float]],
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
        Hours in which its probe was heard, and the mean of each [ms since 1970, °C].
    steeping
        From when to when it held a steep; empty it is as warm as the air [ms since 1970].

    Returns
    -------
    Warmth
        As presumed where it was never heard.
    """
    if not facts:
        return presumed
    times, means = np.array(facts).T
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
