"""Vessels with a physics of their own, standing in the weather of a record hour by hour."""

from __future__ import annotations

import random
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray
from tests.records import fetch

from steepwell.garden.load import garden_from
from steepwell.outlook.record import Record, read_record
from steepwell_sim.weather.hours import hours_of_day
from steepwell_sim.weather.record import Day
from steepwell_sim.world.parameters import LAG_SPREAD
from steepwell_sim.world.steep import READY_AFTER_D, READY_AGE_D, pace, true_vessel

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden

PLACES = {"brussels": (50.8, 4.35), "cambridge": (52.2, 0.12)}
VOLUMES_L = (30, 60, 120, 200)
INSULATIONS = ("none", "none", "jacketed", "sunk")
VESSELS = len(VOLUMES_L) * len(INSULATIONS)
# As the simulated gardens have it.
SUN_SPREAD = 0.5
HALF_WINDOW_D = 7

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Place:
    """The true hours at a place, and the vessels that stood in them; arrays begin with the hour.

    Attributes
    ----------
    garden
        With every vessel and a probe in each.
    record
        Its weather record.
    begin
        The first hour.
    vessel_c, pace_d
        Temperature of each vessel, and by how much it aged since the first hour; (hours, vessels)
        [°C, d].
    usual_pace_d
        What a day of the year ages each vessel, as a rule; (days, vessels) [d].
    """

    garden: Garden
    record: Record
    begin: datetime
    vessel_c: Array
    pace_d: Array
    usual_pace_d: Array

    def hour(self, moment: datetime) -> int:
        """Return the position of the hour that holds a moment."""
        return int((moment - self.begin) / timedelta(hours=1))


@lru_cache(maxsize=2)
def place(name: str, seed: int = 1) -> Place:
    """Return a place with its record's weather as it was; the seed draws how its vessels warm."""
    record = read_record(dict(zip(PLACES, fetch(), strict=True))[name])
    garden = _garden(name)
    days = [record.first + timedelta(days=day) for day in range(record.days)]
    weather = {
        day: Day(*(float(column[index]) for column in _columns(record)))
        for index, day in enumerate(days)
    }
    air, sun = [], []
    for day in days:
        for hour in hours_of_day(weather, day, garden.garden, seed=1):
            air.append(hour.mean_air_c)
            sun.append(hour.sun_mj_m2)
    vessels_c = np.array(
        [_temperatures(garden, index, air, sun, seed) for index in range(VESSELS)]
    ).T
    aged = np.cumsum(np.vectorize(pace)(vessels_c) / 24.0, axis=0)
    begin = datetime.combine(record.first, datetime.min.time(), UTC)
    return Place(garden, record, begin, vessels_c, aged, _usual(days, aged))


def _usual(days: list[date], aged: Array) -> Array:
    """Return the mean over all years of what each day of the year, and the week around it, ages."""
    daily = np.diff(aged[23::24], axis=0, prepend=0.0)
    numbers = np.array([day.timetuple().tm_yday - 1 for day in days])
    means = np.array([daily[numbers == number].mean(axis=0) for number in range(365)])
    smooth: Array = np.mean(
        [np.roll(means, shift, axis=0) for shift in range(-HALF_WINDOW_D, HALF_WINDOW_D + 1)],
        axis=0,
    )
    return smooth


def _columns(record: Record) -> tuple[Array, Array, Array, Array]:
    return record.rain_mm, record.tmin_c, record.tmax_c, record.et0_mm


def _garden(name: str) -> Garden:
    latitude, longitude = PLACES[name]
    vessels = [
        {
            "name": f"vessel-{index}",
            "volume": f"{VOLUMES_L[index % 4]} L",
            "insulation": INSULATIONS[index // 4],
        }
        for index in range(VESSELS)
    ]
    raw: dict[str, Any] = {
        "garden": {"name": name, "latitude": latitude, "longitude": longitude, "timezone": "UTC"},
        "vessel": vessels,
        "bed": [{"name": "all", "area": "10 m2"}],
    }
    return garden_from(raw)


def _temperatures(
    garden: Garden, index: int, air: list[float], sun: list[float], seed: int
) -> list[float]:
    rng = random.Random(f"{seed} {garden.name} {index}")  # noqa: S311 - a simulation, not a secret
    lag, shone = 1 + rng.uniform(-LAG_SPREAD, LAG_SPREAD), 1 + rng.uniform(-SUN_SPREAD, SUN_SPREAD)
    vessel = true_vessel(garden.vessel[index], lag, shone, air[0])
    now = datetime.combine(date(1970, 1, 1), datetime.min.time(), UTC)
    temperatures = []
    for air_c, sun_mj in zip(air, sun, strict=True):
        vessel.pass_hour(air_c, sun_mj, now)
        temperatures.append(vessel.temperature_c)
    return temperatures


def ready_after_d(at: Place, vessel: int, started: datetime) -> float:
    """Return after how many days a steep was ready in truth, infinite if the record ends before."""
    first = at.hour(started)
    age = at.pace_d[:, vessel] - at.pace_d[first - 1, vessel]
    hours = np.arange(len(age)) + 1 - first
    passed = (age >= READY_AGE_D) & (hours >= READY_AFTER_D * 24)
    if not passed[first:].any():
        return float("inf")
    return float(np.argmax(passed[first:]) + 1) / 24.0
