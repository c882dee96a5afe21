"""Fast falls of the butts: when somebody must have drawn water, and how much."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import timedelta
from itertools import pairwise
from typing import TYPE_CHECKING

from steepwell.clock import from_ms
from steepwell.garden.days import midnight
from steepwell.outlook.levels import READING_SD_SHARE
from steepwell.store.readings import HOUR_MS

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import date, datetime

    from steepwell.garden.garden import Garden
    from steepwell.garden.water import Butt
    from steepwell.store.readings import Reading
    from steepwell.store.store import Store

# A probe heard less often than this cannot tell a can from a leak.
SELDOM_MS = 6 * HOUR_MS
# Who waters is done within hours; what goes on falling leaks.
LONGEST_MS = 4 * HOUR_MS
HOURS_A_DAY = 24
# How sure a fall is: its steps at two standard deviations of a reading, the whole at three.
STEP_SDS, FALL_SDS = 2.0, 3.0


@dataclass(frozen=True, slots=True)
class Fall:
    """A fast fall of the water in a butt.

    Attributes
    ----------
    at
        When it was over.
    butt
        The butt.
    litres
        How far [L].
    """

    at: datetime
    butt: str
    litres: float


def falls_on(
    garden: Garden, store: Store, days: Sequence[date], now: datetime
) -> dict[date, list[Fall]]:
    """Return the fast falls of some local days.

    Parameters
    ----------
    garden
        The garden.
    store
        Where the levels are.
    days
        The days, none after today.
    now
        The moment of the job.

    Returns
    -------
    dict
        By day, without days on which no butt fell by half a can beyond what a reading may be off.
        A fall that rain made good by the end of its day is not seen.
    """
    fell = _days_lower_at_their_end(garden, store, days, now)
    asked = [
        (_probe(garden, butt), moment) for day, butt in fell for moment in _hours(garden, day, now)
    ]
    readings = iter(store.readings.last_good_of_each(asked))
    found: dict[date, list[Fall]] = {}
    for day, butt in fell:
        heard = _distinct(next(readings) for _ in _hours(garden, day, now))
        for fall in _fast_falls(garden, butt, heard):
            found.setdefault(day, []).append(fall)
    return found


def _days_lower_at_their_end(
    garden: Garden, store: Store, days: Sequence[date], now: datetime
) -> list[tuple[date, Butt]]:
    probed = [butt for butt in garden.butt if garden.level_sensor(butt.name) is not None]
    least_l = [_least_fall_l(garden, butt) for butt in probed]
    names = [_probe(garden, butt) for butt in probed]
    asked = []
    for day in days:
        begin = midnight(garden, day)
        end = min(midnight(garden, day + timedelta(days=1)), now)
        asked += [(name, moment) for name in names for moment in (begin, end)]
    readings = iter(store.readings.last_good_of_each(asked))
    lower = []
    for day in days:
        for butt, least in zip(probed, least_l, strict=True):
            before, after = next(readings), next(readings)
            if before and after and before.value - after.value >= least:
                lower.append((day, butt))
    return lower


def _probe(garden: Garden, butt: Butt) -> str:
    sensor = garden.level_sensor(butt.name)
    return sensor.name if sensor else ""


def _hours(garden: Garden, day: date, now: datetime) -> list[datetime]:
    """Return the beginnings of a day's hours and its end, none after now."""
    begin = midnight(garden, day)
    end = midnight(garden, day + timedelta(days=1))
    hours = [begin + timedelta(hours=hour) for hour in range(HOURS_A_DAY + 2)]
    return [min(hour, now) for hour in hours if hour <= end]


def _least_fall_l(garden: Garden, butt: Butt) -> float:
    return garden.can.size / 2 + FALL_SDS * math.sqrt(2.0) * READING_SD_SHARE * butt.capacity_l


def _distinct(readings: Iterator[Reading | None]) -> list[Reading]:
    heard = {reading.time_ms: reading for reading in readings if reading is not None}
    return [heard[time_ms] for time_ms in sorted(heard)]


def _fast_falls(garden: Garden, butt: Butt, heard: Sequence[Reading]) -> Iterator[Fall]:
    """Yield falls of one reading to the next, or of several in a row."""
    least_step_l = STEP_SDS * math.sqrt(2.0) * READING_SD_SHARE * butt.capacity_l
    run: list[tuple[Reading, Reading]] = []
    for step in [*pairwise(heard), None]:
        if step is not None and step[0].value - step[1].value > least_step_l:
            run.append(step)
            continue
        if run:
            before, after = run[0][0], run[-1][1]
            litres = before.value - after.value
            seldom = any(later.time_ms - earlier.time_ms > SELDOM_MS for earlier, later in run)
            lasted_ms = run[-1][1].time_ms - run[0][0].time_ms
            slow = len(run) > 1 and lasted_ms > LONGEST_MS
            if litres >= _least_fall_l(garden, butt) and not (seldom or slow):
                yield Fall(from_ms(after.time_ms), butt.name, litres)
        run = []
