"""What each kind of sensor makes of the true garden, with the grain and noise of cheap hardware."""

from __future__ import annotations

import math
import random
from typing import TYPE_CHECKING

from steepwell.garden.garden import AIR
from steepwell.garden.sensors import (
    Barometer,
    LevelSensor,
    RainSensor,
    Sensor,
    TemperatureSensor,
)
from steepwell_sim.devices.payloads import Figure

if TYPE_CHECKING:
    from steepwell_sim.world.rainwater import TrueButt
    from steepwell_sim.world.world import World

TEMPERATURE_GRAIN_C = 0.0625
_TEMPERATURE_NOISE_C = 0.06
_LEVEL_GRAIN_M = 0.001
_LEVEL_NOISE_M = 0.0015
_TIP_OF_A_GAUGE_IN_MM = 0.2
_METRES_IN = {"m": 1.0, "cm": 0.01, "mm": 0.001}
_PASCAL_IN = {"Pa": 1.0, "hPa": 100.0, "mbar": 100.0, "kPa": 1000.0, "bar": 100_000.0}
# The weather of the simulated garden has no pressure of its own.
_AIR_PA, _PASCAL_A_METRE = 101_325.0, 9790.0
_SOUND_A_DEGREE = 0.0017
_LITRES_IN = {"L": 1.0, "m3": 1000.0}


class Instrument:
    """One sensor of the garden file, measuring.

    Parameters
    ----------
    sensor
        As declared.
    world
        The true garden.
    seed
        Draws its noise.
    """

    def __init__(self, sensor: Sensor, world: World, seed: int) -> None:
        self.sensor = sensor
        self._world = world
        self._rng = random.Random(f"{seed} noise {sensor.name}")  # noqa: S311 - a simulation
        self._rain_before_mm = world.gauge_mm
        self._told_tips = 0

    def measure(self) -> Figure:
        """Return what it reads now."""
        sensor = self.sensor
        match sensor:
            case RainSensor():
                value, unit = self._rain(sensor)
            case LevelSensor():
                value, unit = self._level(sensor)
            case TemperatureSensor():
                value, unit = self._temperature(sensor)
            case Barometer():
                unit = sensor.unit or "hPa"
                value = _AIR_PA / _PASCAL_IN[unit]
        return Figure(
            value=value,
            unit=unit,
            record=sensor.record,
            pointer=sensor.pointer,
            time_pointer=sensor.time_pointer,
        )

    def _rain(self, sensor: RainSensor) -> tuple[float, str]:
        """Count whole tips since the gauge started."""
        tip_mm = sensor.tip or _TIP_OF_A_GAUGE_IN_MM
        tips = math.floor((self._world.gauge_mm - self._rain_before_mm) / tip_mm + 1e-9)
        if not sensor.is_cumulative:
            tips, self._told_tips = tips - self._told_tips, tips
        if sensor.counts.startswith("tips"):
            return tips, "count"
        unit = sensor.unit or "mm"
        return tips * tip_mm / (1000 if unit == "m" else 1), unit

    def _level(self, sensor: LevelSensor) -> tuple[float, str]:
        butt = self._world.rainwater.butts[sensor.of]
        depth_m = self._grainy_depth_m(butt)
        if sensor.reads == "percent":
            share = butt.as_declared.volume_l(depth_m) / butt.as_declared.capacity_l
            return round(100 * share, 1), sensor.unit or "%"
        if sensor.reads == "litres":
            unit = sensor.unit or "L"
            return round(butt.as_declared.volume_l(depth_m), 1) / _LITRES_IN[unit], unit
        if sensor.reads == "pressure":
            unit = sensor.unit or "Pa"
            pressure_pa = _PASCAL_A_METRE * depth_m + (_AIR_PA if sensor.absolute else 0.0)
            return pressure_pa / _PASCAL_IN[unit], unit
        unit = sensor.unit or "m"
        if sensor.reads == "depth":
            return depth_m / _METRES_IN[unit], unit
        distance_m = (sensor.lid or 0.0) - depth_m
        if sensor.sound_at is not None:
            # It takes sound to be as fast as at that temperature, by 0.17 % for each degree.
            distance_m *= 1.0 - _SOUND_A_DEGREE * (self._world.air_c - sensor.sound_at)
        nearest_m = sensor.blind or 0.0
        if distance_m < nearest_m:
            distance_m = nearest_m - _LEVEL_GRAIN_M
        return distance_m / _METRES_IN[unit], unit

    def _grainy_depth_m(self, butt: TrueButt) -> float:
        noisy_m = butt.depth_m + self._rng.gauss(0.0, _LEVEL_NOISE_M)
        return max(0.0, round(noisy_m / _LEVEL_GRAIN_M) * _LEVEL_GRAIN_M)

    def _temperature(self, sensor: TemperatureSensor) -> tuple[float, str]:
        """Read the place it hangs in, the first of those it stands for."""
        place = sensor.places[0]
        true_c = self._world.air_c if place == AIR else self._world.vessels[place].temperature_c
        noisy_c = true_c + self._rng.gauss(0.0, _TEMPERATURE_NOISE_C)
        read_c = round(noisy_c / TEMPERATURE_GRAIN_C) * TEMPERATURE_GRAIN_C
        unit = sensor.unit or "Cel"
        if unit == "degF":
            return read_c * 9 / 5 + 32, unit
        return (read_c + 273.15 if unit == "K" else read_c), unit
