"""Vessels: how they warm, how what is in them ages, how thin it must be mixed."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import datetime

    from steepwell.garden.growing import Vessel

READY_AGE_D = 14.0
READY_AFTER_D = 10.0
HELD_PARTS = 500.0
_REFERENCE_C = 17.0
_WARMEST_THAT_COUNTS_C = 30.0
_THINNING_PER_D = 0.001
_PARTS_WHEN_READY = 30.0
_DAYS_OF_A_YEAR = 365.0

_HEAT_OF_WATER_J_L_K = 4186.0
_LOSS_W_M2_K = {"none": 10.0, "jacketed": 3.5, "sunk": 2.5}
_SUN_WARMS_K_PER_MJ_M2 = {"none": 1.0, "jacketed": 0.4, "sunk": 0.2}


def lag_h(volume_l: float, insulation: str) -> float:
    """Return the time constant with which a vessel follows the air [h].

    Parameters
    ----------
    volume_l
        Its volume [L].
    insulation
        As in the garden file.

    Returns
    -------
    float
        Heat held through heat lost for each kelvin, of an upright cylinder as high as wide [h].

    References
    ----------
    Heat capacity of water 4186 J/(L K); transmittances of a thin wall in light wind, from memory.
    """
    surface_m2 = 1.5 * math.pi * math.pow(4 * volume_l / 1000 / math.pi, 2 / 3)
    return _HEAT_OF_WATER_J_L_K * volume_l / (_LOSS_W_M2_K[insulation] * surface_m2) / 3600


def follow(from_c: float, to_c: float, hours: float, lag_hours: float) -> float:
    """Return the temperature after some hours in surroundings of another temperature.

    Parameters
    ----------
    from_c, to_c
        Temperature at first and of the surroundings [°C].
    hours, lag_hours
        Time passed and time constant [h].

    Returns
    -------
    float
        Temperature [°C], by Newton's law of cooling.
    """
    return to_c + (from_c - to_c) * math.exp(-hours / lag_hours)


def pace(temperature_c: float) -> float:
    """Return how fast matter ages, against its pace at 17 °C.

    Parameters
    ----------
    temperature_c
        Temperature of the liquid [°C].

    Returns
    -------
    float
        0 at and below 0 °C, as at 30 °C above it.

    References
    ----------
    Lloyd and Taylor (1994), Functional Ecology 8, 315-323, eq. 11.
    """
    if temperature_c <= 0:
        return 0.0
    counted = min(temperature_c, _WARMEST_THAT_COUNTS_C)
    return math.exp(308.56 * (1 / (_REFERENCE_C + 46.02) - 1 / (counted + 46.02)))


def parts(age_d: float) -> float:
    """Return the parts of water to one part of feed.

    Parameters
    ----------
    age_d
        Thermal age [d at 17 °C].

    Returns
    -------
    float
        1:30 when ready, about 1:450 after a year: common practice made continuous.
    """
    grown = 1 - math.exp(-_THINNING_PER_D * age_d)
    return _PARTS_WHEN_READY * grown / (1 - math.exp(-_THINNING_PER_D * READY_AGE_D))


@dataclass(slots=True)
class Steep:
    """One batch in a vessel.

    Attributes
    ----------
    started, ready_at
        Aware moments; ``ready_at`` is None until it is ready.
    liquid_l
        What is left [L].
    age_d
        Thermal age [d at 17 °C].
    """

    started: datetime
    liquid_l: float
    age_d: float = 0.0
    ready_at: datetime | None = None

    def grow_older(self, temperature_c: float, now: datetime, hours: float) -> None:
        """Let it age for the hours before ``now``."""
        self.age_d += pace(temperature_c) * hours / 24
        if self.ready_at is None and self.age_d >= READY_AGE_D and self.days(now) >= READY_AFTER_D:
            self.ready_at = now

    def days(self, now: datetime) -> float:
        """Return its age on the calendar [d]."""
        return (now - self.started).total_seconds() / 86_400

    def dilution_parts(self, now: datetime) -> float | None:
        """Return the parts of water to one of feed, None until it is ready."""
        if self.ready_at is None:
            return None
        return HELD_PARTS if self.days(now) >= _DAYS_OF_A_YEAR else parts(self.age_d)


@dataclass(slots=True)
class TrueVessel:
    """A vessel with its own pace of warming.

    Attributes
    ----------
    declared
        As in the garden file.
    lag_h
        True time constant [h].
    sun_k_per_mj_m2
        How far the sun lifts the temperature it tends to, for an hour's radiation [K m²/MJ].
    temperature_c
        Of the liquid [°C].
    steep
        What is in it, or None.
    past
        Steeps that were in it before.
    """

    declared: Vessel
    lag_h: float
    sun_k_per_mj_m2: float
    temperature_c: float
    steep: Steep | None = None
    past: list[Steep] = field(default_factory=list)

    def pass_hour(self, air_c: float, sun_mj_m2: float, now: datetime) -> None:
        """Let an hour pass that ends at ``now``."""
        towards_c = air_c + self.sun_k_per_mj_m2 * sun_mj_m2
        self.temperature_c = follow(self.temperature_c, towards_c, 1.0, self.lag_h)
        if self.steep is not None:
            self.steep.grow_older(self.temperature_c, now, 1.0)

    def fill(self, now: datetime, water_l: float, water_c: float) -> None:
        """Start a steep; what was in the vessel goes."""
        self.empty()
        self.steep = Steep(started=now, liquid_l=water_l)
        self.temperature_c = water_c

    def empty(self) -> None:
        """End the steep."""
        if self.steep is not None:
            self.past.append(self.steep)
        self.steep = None

    def draw(self, litres: float) -> float:
        """Draw feed and return what came [L]."""
        if self.steep is None:
            return 0.0
        drawn = min(litres, self.steep.liquid_l)
        self.steep.liquid_l -= drawn
        return drawn


def true_vessel(declared: Vessel, lag: float, sun: float, air_c: float) -> TrueVessel:
    """Return a vessel as it is; ``lag`` and ``sun`` are the factors drawn for it."""
    return TrueVessel(
        declared=declared,
        lag_h=lag * lag_h(declared.volume, declared.insulation),
        sun_k_per_mj_m2=sun * _SUN_WARMS_K_PER_MJ_M2[declared.insulation],
        temperature_c=air_c,
    )
