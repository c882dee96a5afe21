"""One fault in one simulated garden, and whether and when it is told."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

from steepwell.garden.days import midnight
from steepwell.garden.sensors import LevelSensor, TemperatureSensor
from steepwell.watch.kinds import DOWNPIPE, DRIFT, GAUGE, LEAK
from steepwell_sim.devices.fault_script import Fault
from steepwell_sim.devices.value_faults import ValueFault
from steepwell_sim.weather.hours import hours_of_day

if TYPE_CHECKING:
    import random
    from collections.abc import Callable

    from tests.faults.garden_year import GardenYear

LEAK_L_D, LEAK_WITHIN_D = 5.0, 7
BLOCKED = 0.95
RAIN_MM, RAINS, RAINS_WITHIN_D = 5.0, 2, 75
DRIFT_C_D, DRIFT_WITHIN_D = 0.12, 35
# A level creeps by this share of its butt; parts of a figure between which a probe tells litres.
CREEPS_A_DAY, NEAR_FAR = 0.01, (1.2, 1.3)
# An event is over after so many hours without rain.
DRY_H = 6


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of one fault.

    Attributes
    ----------
    kind, what
        The notice that should be told, and of what.
    begun
        The day it began.
    found
        Whether it was told in time.
    days
        After how many days, None if it was not told.
    others
        What else was told meanwhile.
    """

    kind: str
    what: str
    begun: date
    found: bool
    days: int | None
    others: tuple[str, ...]


def leak(year: GardenYear, rng: random.Random) -> Outcome:
    """Let a butt that holds water for two weeks lose 5 L a day."""
    butts = year.living.world.rainwater.butts
    full = [name for name, butt in butts.items() if butt.water_l > 14 * LEAK_L_D]
    what = rng.choice(full or list(butts))
    butts[what].leak_l_d = LEAK_L_D
    return _until(year, LEAK, what, days=LEAK_WITHIN_D, over=lambda: False)


def blocked_downpipe(year: GardenYear, rng: random.Random) -> Outcome:
    """Block the pipe of a roof until two rains of 5 mm should have raised its butt."""
    rainwater = year.living.world.rainwater
    roof = rng.choice(rainwater.roofs)
    roof.blocked = BLOCKED
    butt = rainwater.butts[roof.declared.into]
    litres_a_mm = roof.declared.area * roof.declared.share * roof.runoff
    events = _Events(year, lambda mm: butt.capacity_l - butt.water_l > mm * litres_a_mm / 2)
    return _until(year, DOWNPIPE, roof.declared.name, days=RAINS_WITHIN_D, over=events.are_enough)


def blocked_gauge(year: GardenYear, rng: random.Random) -> Outcome:  # noqa: ARG001 - there is one
    """Stop the gauge until two rains of 5 mm have raised a butt."""
    world = year.living.world
    world.gauge_blocked = 1.0
    fed = [world.rainwater.butts[roof.declared.into] for roof in world.rainwater.roofs]
    events = _Events(year, lambda _: all(b.water_l < 0.8 * b.capacity_l for b in fed))
    sensor = year.garden.rain_sensor
    what = sensor.name if sensor is not None else ""
    return _until(year, GAUGE, what, days=RAINS_WITHIN_D, over=events.are_enough)


def drifting_probe(year: GardenYear, rng: random.Random) -> Outcome:
    """Let a thermometer creep upwards for five weeks."""
    probes = [s.name for s in year.garden.sensor if isinstance(s, TemperatureSensor)]
    what = rng.choice(probes)
    fault = Fault(kind="drift", sensor=what, size=rng.choice((-1, 1)) * DRIFT_C_D)
    begin = midnight(year.garden, year.living.day)
    year.faults[what] = ValueFault(fault, begin, year.seed)
    return _until(year, DRIFT, what, days=DRIFT_WITHIN_D, over=lambda: False)


def creeping_level(year: GardenYear, rng: random.Random) -> Outcome:
    """Let a level probe creep upwards, a hundredth of the butt a day, for five weeks."""
    butts = {butt.name: butt.capacity_l for butt in year.garden.butt}
    probes = [one for one in year.garden.sensor if isinstance(one, LevelSensor) and one.of in butts]
    probe = rng.choice(probes)
    said = next(one.measure() for one in year.living.instruments if one.sensor.name == probe.name)
    # Away from where the water is too near to the probe.
    near, far = (year.convert[probe.name](part * said.value, said.unit)[0] for part in NEAR_FAR)
    a_unit_l = (far - near) / ((NEAR_FAR[1] - NEAR_FAR[0]) * said.value)
    size = CREEPS_A_DAY * butts[probe.of] / a_unit_l
    begin = midnight(year.garden, year.living.day)
    fault = Fault(kind="drift", sensor=probe.name, size=size)
    year.faults[probe.name] = ValueFault(fault, begin, year.seed)
    told = _until(year, DRIFT, probe.name, days=DRIFT_WITHIN_D, over=lambda: False)
    return replace(told, kind=f"{DRIFT}, of a level")


class _Events:
    """Counts the rains of 5 mm or more that fall while a butt has room for them."""

    def __init__(self, year: GardenYear, has_room: Callable[[float], bool]) -> None:
        self._year = year
        self._has_room = has_room
        self._day = year.living.day
        self._fallen_mm = 0.0
        self._dry_h = DRY_H
        self._has_room_now = has_room(RAIN_MM)
        self._room = False
        self._counted = False
        self.count = 0

    def are_enough(self) -> bool:
        """Take in the day that was lived; return whether two rains are over."""
        year = self._year
        # Room all day, or it may have been made after the rain.
        before, self._has_room_now = self._has_room_now, self._has_room(RAIN_MM)
        room = before and self._has_room_now
        for hour in hours_of_day(year.weather, self._day, year.garden.garden, year.seed):
            self._pass(hour.rain_mm, room=room)
        self._day += timedelta(days=1)
        return self.count >= RAINS and self._dry_h >= DRY_H

    def _pass(self, rain_mm: float, *, room: bool) -> None:
        if rain_mm <= 0.0:
            self._dry_h += 1
            return
        if self._dry_h >= DRY_H:
            self._fallen_mm, self._counted = 0.0, False
            self._room = room
        self._dry_h = 0
        self._fallen_mm += rain_mm
        if self._fallen_mm >= RAIN_MM and self._room and room and not self._counted:
            self._counted = True
            self.count += 1


def _until(
    year: GardenYear, kind: str, what: str, *, days: int, over: Callable[[], bool]
) -> Outcome:
    """Live on until it is told, time is up, or it should have been told."""
    begun = year.living.day
    others: list[str] = []
    for lived in range(1, days + 1):
        raised = [event for event in year.live_a_day() if event.event == "raised"]
        if any(event.kind == kind and event.subject == what for event in raised):
            return Outcome(kind, what, begun, found=True, days=lived, others=tuple(others))
        others += [event.id for event in raised]
        if over():
            break
    return Outcome(kind, what, begun, found=False, days=None, others=tuple(others))
