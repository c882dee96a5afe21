"""From the value in a message to base units: rain in mm, level in L, temperature in °C."""

from __future__ import annotations

from typing import TYPE_CHECKING

from steepwell.errors import MessageRefusedError
from steepwell.garden.sensors import LevelSensor, RainSensor, TemperatureSensor
from steepwell.sense.flags import FAIL, NOT_EVALUATED, PASS, SUSPECT, Converted, Converter
from steepwell.sense.levels import level_converter, level_finisher
from steepwell.sense.units import (
    COUNTS,
    PRESSURES,
    RAIN_SUMS,
    TEMPERATURES,
    WATER_DEPTHS,
    scaled,
)

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden
    from steepwell.garden.sensors import Barometer, Sensor
    from steepwell.sense.flags import Finisher
    from steepwell.sense.surroundings import Surroundings

__all__ = ["FAIL", "NOT_EVALUATED", "PASS", "SUSPECT", "Converted", "Converter", "converter"]

COLDEST_C, WARMEST_C = -40.0, 80.0
# What one-wire thermometers say that have a fault (common practice, no source).
SAYS_A_FAULT = {
    85.0: "85 °C is what a one-wire probe says that has just got its power",
    -127.0: "-127 °C is said for a one-wire probe that does not answer",
}
# Air presses with less at 6,000 m, and has never pressed with more at sea level; from memory.
LOWEST_PA, HIGHEST_PA = 45_000.0, 110_000.0
MOST_RAIN_MM = 1_000_000.0


def converter(sensor: Sensor, garden: Garden) -> Converter:
    """Return the function that brings a sensor's values to base units.

    Parameters
    ----------
    sensor
        The sensor.
    garden
        Its garden, for the butt a level sensor looks into.

    Returns
    -------
    callable
        Takes the value and the unit in the message, or None; gives value in base units, flag and
        reason; raises MessageRefusedError for a unit or a value that cannot be.
    """
    if isinstance(sensor, RainSensor):
        return _rain(sensor)
    if isinstance(sensor, TemperatureSensor):
        return _temperature(sensor)
    if isinstance(sensor, LevelSensor):
        return level_converter(sensor, garden.butt_named(sensor.of))
    return _pressure(sensor)


def finisher(sensor: Sensor, garden: Garden, around: Surroundings | None) -> Finisher | None:
    """Return what is left to do when the time of a reading is known, mostly nothing.

    Parameters
    ----------
    sensor
        The sensor.
    garden
        Its garden.
    around
        The air, or None if no sensor of the garden asks for it.

    Returns
    -------
    callable or None
        Takes what the converter gave and the time of the reading [ms since 1970]; gives value in
        base units, flag and reason.
    """
    if around is None or not isinstance(sensor, LevelSensor) or not sensor.needs_surroundings:
        return None
    return level_finisher(sensor, garden.butt_named(sensor.of), around)


def _rain(sensor: RainSensor) -> Converter:
    tip_mm = sensor.tip
    if tip_mm is not None:
        scale = scaled(sensor, COUNTS, "count")
    elif sensor.is_cumulative and sensor.payload == "senml":
        scale = scaled(sensor, {**WATER_DEPTHS, **RAIN_SUMS}, "mm")
    else:
        scale = scaled(sensor, WATER_DEPTHS, "mm")

    def convert(value: float, unit: str | None) -> Converted:
        counted = scale(value, unit)
        if counted < 0:
            raise MessageRefusedError(f"{sensor.counts} are {value:g}, and cannot be below nothing")
        if tip_mm is not None:
            if counted != int(counted):
                raise MessageRefusedError(f"{value:g} is no whole number of tips")
            counted *= tip_mm
        if counted > MOST_RAIN_MM:
            return counted, FAIL, f"{counted:.0f} mm of rain is more than a gauge can count"
        return counted, PASS, None

    return convert


def _temperature(sensor: TemperatureSensor) -> Converter:
    scale = scaled(sensor, TEMPERATURES, "Cel")

    def convert(value: float, unit: str | None) -> Converted:
        celsius = scale(value, unit)
        if COLDEST_C <= celsius <= WARMEST_C:
            return celsius, PASS, None
        outside = f"{celsius:.0f} °C is outside {COLDEST_C:.0f} to {WARMEST_C:.0f} °C"
        return celsius, FAIL, SAYS_A_FAULT.get(round(celsius, 6), outside)

    return convert


def _pressure(sensor: Barometer) -> Converter:
    scale = scaled(sensor, PRESSURES, "hPa")

    def convert(value: float, unit: str | None) -> Converted:
        pressure_pa = scale(value, unit)
        if LOWEST_PA <= pressure_pa <= HIGHEST_PA:
            return pressure_pa, PASS, None
        return pressure_pa, FAIL, f"{pressure_pa / 100:.0f} hPa is no pressure of air"

    return convert
