"""Levels of the butts as they were read, by hand and by probes, and how far each may be off."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

from steepwell.clock import from_ms, to_ms
from steepwell.garden.days import local_day, midnight
from steepwell.sense.convert import SUSPECT
from steepwell.store.entries import ButtEmptied, Entry, FilledTo, LevelRead
from steepwell.store.strapping import poured_l

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from steepwell.garden.garden import Garden
    from steepwell.garden.sensors import LevelSensor
    from steepwell.garden.water import Butt
    from steepwell.store.readings import Reading
    from steepwell.store.store import Store

# Standard deviations as shares of capacity, from memory: of a stick, of a look, and of probes; the
# shape of a butt is not known better than to a hundredth or two.
BY_STICK, BY_EYE = 0.01, 0.06
BY_PROBE = {
    "distance from lid": 0.015,
    "depth": 0.015,
    "pressure": 0.02,
    "litres": 0.015,
    "percent": 0.02,
}
# A reading that is doubted may be off by so much more.
DOUBTED = 4.0
# One reading of a probe against the next, as a share of capacity; from memory.
READING_SD_SHARE = 0.004
# Evenings before today of which the probe's reading is looked at.
LOOK_BACK_D = 7
SAME_L = 1e-6
PROBE_TURN = -1


@dataclass(frozen=True, slots=True)
class Level:
    """The water in a butt, read at some moment.

    Attributes
    ----------
    at
        The moment.
    butt
        Name of the butt.
    litres, sd_l
        Water in it and the standard deviation of that [L].
    at_least
        Whether there may be more: the water is too near to the probe for it to tell.
    settles
        Whether it holds whatever was reckoned before; so a stick does.
    turn
        Its number in the journal, for what was noted of one and the same time; probes come first.
    """

    at: datetime
    butt: str
    litres: float
    sd_l: float
    at_least: bool = False
    settles: bool = False
    turn: int = PROBE_TURN

    @property
    def at_ms(self) -> int:
        """The moment [ms since 1970]."""
        return to_ms(self.at)


def levels_read(
    garden: Garden, store: Store, entries: Sequence[Entry], now: datetime
) -> list[Level]:
    """Return what tells the water in the butts now.

    Parameters
    ----------
    garden
        The garden.
    store
        Where the readings are.
    entries
        The journal; on a day with a reading by hand the probe is not believed.
    now
        The moment of the job.

    Returns
    -------
    list of Level
        In order of time: of each butt the last level, and those of some days before the oldest of
        these.
    """
    found: list[Level] = []
    by_probes = _by_probes(garden, store, now)
    for butt in garden.butt:
        by_hand = [
            _by_hand(butt, entry, entries)
            for entry in entries
            if isinstance(entry, LevelRead | ButtEmptied | FilledTo) and entry.butt == butt.name
        ]
        days = {local_day(garden, level.at) for level in by_hand}
        by_probe = by_probes.get(butt.name, [])
        found += by_hand
        found += [level for level in by_probe if local_day(garden, level.at) not in days]
    found.sort(key=lambda level: level.at)
    newest = {level.butt: level.at for level in found}
    if not newest:
        return []
    since = min(newest.values()) - timedelta(days=LOOK_BACK_D)
    return [level for level in found if level.at >= since]


def _by_hand(
    butt: Butt, entry: LevelRead | ButtEmptied | FilledTo, entries: Sequence[Entry]
) -> Level:
    rough, litres = False, 0.0
    match entry:
        case LevelRead():
            rough, litres = entry.rough, entry.litres
        case FilledTo():
            litres = poured_l(entries, entry)
        case ButtEmptied():
            pass
    return Level(
        entry.at,
        butt.name,
        litres,
        (BY_EYE if rough else BY_STICK) * butt.capacity_l,
        settles=not rough,
        turn=entry.id or 0,
    )


def _by_probes(garden: Garden, store: Store, now: datetime) -> dict[str, list[Level]]:
    """Return the last readings of each probe up to now and of each of the evenings before."""
    today = local_day(garden, now)
    evenings = [
        midnight(garden, today - timedelta(days=day)) - timedelta(milliseconds=1)
        for day in range(LOOK_BACK_D)
    ]
    probes = {
        sensor.name: (butt, sensor)
        for butt in garden.butt
        if (sensor := garden.level_sensor(butt.name)) is not None
    }
    asked = [(name, moment) for name in probes for moment in (now, *evenings)]
    heard = {
        (reading.sensor, reading.time_ms): reading
        for reading in store.readings.last_good_of_each(asked, or_doubted=True)
        if reading is not None
    }
    levels: dict[str, list[Level]] = {}
    for reading in heard.values():
        butt, sensor = probes[reading.sensor]
        levels.setdefault(butt.name, []).append(_of_probe(butt, sensor, reading))
    return levels


def _of_probe(butt: Butt, sensor: LevelSensor, reading: Reading) -> Level:
    off = BY_PROBE[sensor.reads] * (DOUBTED if reading.flag == SUSPECT else 1.0)
    return Level(
        from_ms(reading.time_ms),
        butt.name,
        reading.value,
        off * butt.capacity_l,
        at_least=reading.value >= most_told_l(sensor, butt) - SAME_L,
    )


def most_told_l(sensor: LevelSensor, butt: Butt) -> float:
    """Return the water from which on a probe cannot tell, infinite if it always can.

    Parameters
    ----------
    sensor
        The probe.
    butt
        Its butt.

    Returns
    -------
    float
        What is read when the butt is full or nearly [L].
    """
    if sensor.blind is None or sensor.lid is None:
        return float("inf")
    height_m = butt.geometry.height_m
    return float(butt.geometry.volume_l(min(sensor.lid - sensor.blind, height_m)))
