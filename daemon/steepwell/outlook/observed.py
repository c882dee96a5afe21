"""Rain and temperature day by day as far as they were observed, filled from the record."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from steepwell.clock import to_ms
from steepwell.garden.days import local_day, midnight
from steepwell.garden.garden import AIR, Garden
from steepwell.store.entries import Entry, RainRead, TemperatureRead

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.outlook.record import Record
    from steepwell.store.store import Store

# A day's extremes are those of the probe only if it was heard for most of the day.
LEAST_HOURS = 20
# A plastic gauge that nobody read for longer than this has run over.
LONGEST_UNREAD_D = 31

Days = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Observed:
    """Weather of the days up to yesterday, and of today so far.

    Attributes
    ----------
    first
        The first day.
    rain_mm, tmin_c, tmax_c
        One value a day, yesterday last; NaN where neither sensor, hand nor record knows.
    rain_today_mm
        Rain since local midnight [mm].
    from_record
        Days whose temperatures are the usual ones of the record [d].
    rain_guessed
        Whether the rain of each day is the usual one of the record.
    hour_ms, hour_rain_mm
        Hours in which the gauge counted rain, today's among them, and how much; in all what
        ``rain_mm`` has for the day [ms since 1970, mm].
    hour_day
        Position of the day of each of these hours.
    temperature_guessed
        Whether the temperatures of each day are the usual ones of the record.
    """

    first: date
    rain_mm: Days
    tmin_c: Days
    tmax_c: Days
    rain_today_mm: float
    from_record: int
    rain_guessed: NDArray[np.bool_] = field(default_factory=lambda: np.zeros(0, dtype=bool))
    hour_ms: Days = field(default_factory=lambda: np.zeros(0))
    hour_rain_mm: Days = field(default_factory=lambda: np.zeros(0))
    hour_day: NDArray[np.intp] = field(default_factory=lambda: np.zeros(0, dtype=np.intp))
    temperature_guessed: NDArray[np.bool_] = field(default_factory=lambda: np.zeros(0, dtype=bool))

    def day(self, index: int) -> date:
        """Return the day at a position."""
        return self.first + timedelta(days=index)

    def mean_c(self, day: date) -> float:
        """Return the mean air temperature of a day, that of yesterday for today [°C]."""
        index = min((day - self.first).days, len(self.tmin_c) - 1)
        return float(self.tmin_c[index] + self.tmax_c[index]) / 2


def share_of_today_left(garden: Garden, now: datetime) -> float:
    """Return which part of the local day is still to come [-]."""
    today = local_day(garden, now)
    start, end = midnight(garden, today), midnight(garden, today + timedelta(days=1))
    return (end - now) / (end - start)


def observe(
    garden: Garden,
    store: Store,
    record: Record | None,
    entries: Sequence[Entry],
    *,
    first: date,
    now: datetime,
) -> Observed:
    """Gather the weather from a day up to now.

    Parameters
    ----------
    garden
        The garden.
    store
        Where the readings are.
    record
        The weather record that fills what was not observed.
    entries
        The journal; a reading by hand goes before the sensor on its day.
    first
        The first day.
    now
        The moment of the job.

    Returns
    -------
    Observed
        One value a day.
    """
    today = local_day(garden, now)
    count = (today - first).days
    rain = np.full(count + 1, np.nan)
    hour_ms, hour_rain_mm = _rain_by_gauge(garden, store, first, now, rain)
    tmin, tmax = _extremes_by_probe(garden, store, first, now, count)
    counted = rain.copy()
    _by_hand(garden, entries, first, rain)
    # A day read by hand keeps the hours of the gauge, if it fell in any.
    days = _days_of(garden, first, count + 1, hour_ms)
    hour_rain_mm = hour_rain_mm * (rain[days] / counted[days])
    guessed = np.isnan(rain[:count])
    known = ~np.isnan(tmin)
    for index in range(count):
        if record is None or not (np.isnan(rain[index]) or np.isnan(tmin[index])):
            continue
        usual_rain, usual_tmin, usual_tmax = record.normal(first + timedelta(days=index))
        if np.isnan(rain[index]):
            rain[index] = usual_rain
        if np.isnan(tmin[index]):
            tmin[index], tmax[index] = usual_tmin, usual_tmax
    return Observed(
        first,
        rain[:count],
        tmin,
        tmax,
        float(np.nan_to_num(rain[count])),
        int((~known).sum()),
        guessed,
        hour_ms[hour_rain_mm > 0],
        hour_rain_mm[hour_rain_mm > 0],
        days[hour_rain_mm > 0],
        ~known,
    )


def _rain_by_gauge(
    garden: Garden, store: Store, first: date, now: datetime, rain: Days
) -> tuple[Days, Days]:
    """Fill in the days the gauge was heard, and return its hours with rain and their rain."""
    none = np.zeros(0), np.zeros(0)
    gauge = garden.rain_sensor
    if gauge is None:
        return none
    begin = midnight(garden, first)
    rises = store.readings.hourly_rise(gauge.name, begin, now)
    if not rises:
        return none
    # The counter goes on while it is not heard: what fell then comes with its next reading.
    hour_ms, rise_mm = np.array(rises).T
    heard = _days_of(garden, first, len(rain), hour_ms)
    heard_before = store.readings.last_good(gauge.name, begin) is not None
    rain[0 if heard_before else heard.min() : heard.max() + 1] = 0.0
    np.add.at(rain, heard, rise_mm)
    return hour_ms[rise_mm > 0], rise_mm[rise_mm > 0]


def _extremes_by_probe(
    garden: Garden, store: Store, first: date, now: datetime, count: int
) -> tuple[Days, Days]:
    tmin, tmax = np.full(count + 1, np.inf), np.full(count + 1, -np.inf)
    hours = np.zeros(count + 1)
    probe = garden.temperature_sensor(AIR)
    if probe is not None:
        facts = store.readings.hourly([probe.name], midnight(garden, first), now)
        hour_ms = np.array([fact.hour_ms for fact in facts])
        days = _days_of(garden, first, count + 1, hour_ms)
        np.minimum.at(tmin, days, [fact.least for fact in facts])
        np.maximum.at(tmax, days, [fact.most for fact in facts])
        np.add.at(hours, days, 1)
    unknown = hours < LEAST_HOURS
    tmin[unknown], tmax[unknown] = np.nan, np.nan
    return tmin[:count], tmax[:count]


def _by_hand(garden: Garden, entries: Sequence[Entry], first: date, rain: Days) -> None:
    by_day: dict[int, float] = {}
    for entry in entries:
        if isinstance(entry, RainRead):
            index = (local_day(garden, entry.at) - first).days
            by_day[index] = by_day.get(index, 0.0) + entry.mm
    for index, fallen_mm in by_day.items():
        if 0 <= index < len(rain):
            rain[index] = fallen_mm
    # What fell between two readings is in the later one.
    for earlier, later in pairwise(sorted(by_day)):
        if later - earlier <= LONGEST_UNREAD_D:
            between = rain[max(earlier + 1, 0) : max(later, 0)]
            between[np.isnan(between)] = 0.0


def _days_of(garden: Garden, first: date, count: int, hour_ms: Days) -> NDArray[np.intp]:
    """Return the position of the local day in which each hour begins."""
    begins = [to_ms(midnight(garden, first + timedelta(days=day))) for day in range(count)]
    return np.clip(np.searchsorted(begins, hour_ms, side="right") - 1, 0, count - 1)


def hand_temperature(
    garden: Garden, entries: Sequence[Entry], place: str, day: date
) -> float | None:
    """Return the last temperature read by hand at a place on a day [°C]."""
    read = [
        entry.celsius
        for entry in entries
        if isinstance(entry, TemperatureRead)
        and entry.place == place
        and local_day(garden, entry.at) == day
    ]
    return read[-1] if read else None
