"""What the butts held on past evenings, as far as it was read."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from steepwell.clock import to_ms
from steepwell.garden.days import local_day, midnight
from steepwell.outlook.levels import SAME_L, most_told_l
from steepwell.store.entries import LevelRead

if TYPE_CHECKING:
    from datetime import datetime

    from steepwell.garden.garden import Garden
    from steepwell.garden.water import Butt
    from steepwell.store.store import Store

# A probe's reading tells of the evening if it is no older at midnight.
OLDEST = timedelta(hours=6)

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Evenings:
    """Water at the end of each day, NaN where not every butt was read.

    Attributes
    ----------
    first
        The first day.
    stored_l, above_l
        Water in all butts, and what of it is above the taps; one value a day [L].
    """

    first: date
    stored_l: Array
    above_l: Array

    @property
    def end(self) -> date:
        """The day after the last."""
        return self.first + timedelta(days=len(self.stored_l))

    def stored_on(self, day: date) -> float:
        """Return the water in all butts at the end of a day, NaN where it was not read [L]."""
        index = (day - self.first).days
        return float(self.stored_l[index]) if 0 <= index < len(self.stored_l) else float("nan")

    def above_from(self, day: date, days: int) -> Array:
        """Return the water above the taps on the evenings of some days on end [L]."""
        found = np.full(days, np.nan)
        begin = (day - self.first).days
        known = slice(max(begin, 0), max(begin + days, 0))
        values = self.above_l[known]
        at = known.start - begin
        found[at : at + len(values)] = values
        return found


def read_evenings(garden: Garden, store: Store, first: date, last: date, now: datetime) -> Evenings:
    """Return what the butts held on the evenings of some days.

    Parameters
    ----------
    garden
        The garden.
    store
        Readings and journal; a reading by hand goes before the probe on its day.
    first, last
        The days; evenings after ``now`` are not known.
    now
        The moment of the job.

    Returns
    -------
    Evenings
        One value a day. A probe that is too near the water to tell is taken half way between what
        it can tell and a full butt.
    """
    last = min(last, local_day(garden, now) - timedelta(days=1))
    days = [first + timedelta(days=day) for day in range((last - first).days + 1)]
    found = np.full((len(garden.butt), len(days)), np.nan)
    for index, butt in enumerate(garden.butt):
        found[index] = _by_probe(garden, store, butt, days)
    entries = store.journal.entries(now, since=midnight(garden, first), kinds=("level-read",))
    row = {butt.name: index for index, butt in enumerate(garden.butt)}
    for entry in entries:
        if isinstance(entry, LevelRead) and entry.butt in row:
            column = (local_day(garden, entry.at) - first).days
            if column < len(days):
                found[row[entry.butt], column] = entry.litres
    dead = np.array([butt.dead_volume for butt in garden.butt])[:, None]
    return Evenings(first, found.sum(axis=0), np.maximum(found - dead, 0.0).sum(axis=0))


def _by_probe(garden: Garden, store: Store, butt: Butt, days: list[date]) -> Array:
    found = np.full(len(days), np.nan)
    sensor = garden.level_sensor(butt.name)
    if sensor is None or not days:
        return found
    ends = [midnight(garden, day + timedelta(days=1)) for day in days]
    evenings = [end - timedelta(milliseconds=1) for end in ends]
    most_l = most_told_l(sensor, butt)
    for column, reading in enumerate(store.readings.last_good_at(sensor.name, evenings)):
        if reading is None or reading.time_ms < to_ms(ends[column] - OLDEST):
            continue
        too_near = reading.value >= most_l - SAME_L
        found[column] = (most_l + butt.capacity_l) / 2 if too_near else reading.value
    return found
