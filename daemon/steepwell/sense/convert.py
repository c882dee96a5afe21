"""From the value in a message to base units: rain in mm, level in L, temperature in °C."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from typing import TYPE_CHECKING

from steepwell.errors import MessageRefusedError
from steepwell.garden.sensors import LevelSensor, RainSensor, TemperatureSensor

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden
    from steepwell.garden.sensors import Sensor
    from steepwell.garden.water import Butt

PASS, NOT_EVALUATED, SUSPECT, FAIL = 1, 2, 3, 4

COLDEST_C, WARMEST_C = -40.0, 80.0
# What one-wire thermometers say that have a fault (common practice, no source).
SAYS_A_FAULT = {
    85.0: "85 °C is what a one-wire probe says that has just got its power",
    -127.0: "-127 °C is said for a one-wire probe that does not answer",
}
LOWEST_SHARE, HIGHEST_SHARE = -0.05, 1.05
MOST_RAIN_MM = 1_000_000.0
SAME_TO_A_TIP = 1e-6

# Value in base units, flag, reason for the flag.
Converted = tuple[float, int, str | None]
Converter = Callable[[float, str | None], Converted]
Scale = tuple[float, float]

_LENGTHS: dict[str, Scale] = {"m": (1.0, 0.0), "cm": (0.01, 0.0), "mm": (0.001, 0.0)}
_SHARES: dict[str, Scale] = {"%": (0.01, 0.0)}
_VOLUMES: dict[str, Scale] = {"L": (1.0, 0.0), "m3": (1000.0, 0.0)}
_WATER_DEPTHS: dict[str, Scale] = {"mm": (1.0, 0.0), "m": (1000.0, 0.0)}
_COUNTS: dict[str, Scale] = {"count": (1.0, 0.0)}
_TEMPERATURES: dict[str, Scale] = {
    "Cel": (1.0, 0.0),
    "K": (1.0, -273.15),
    "degF": (5 / 9, -160 / 9),
}
# SenML has names of its own for some units, and its "%" is a share of 1 (RFC 8428, 12.1;
# "/100" and the parts of a metre are RFC 8798's).
_SENML_SHARES: dict[str, Scale] = {"/": (1.0, 0.0), "%": (1.0, 0.0), "/100": (0.01, 0.0)}
_SENML_VOLUMES: dict[str, Scale] = {**_VOLUMES, "l": (1.0, 0.0)}


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
    return _level(sensor, next(butt for butt in garden.butt if butt.name == sensor.of))


def _scaled(
    sensor: Sensor, scales: dict[str, Scale], usual: str
) -> Callable[[float, str | None], float]:
    """Return the function that applies a unit: the message's, else the sensor's, else the usual."""
    declared = sensor.unit or usual

    def scale(value: float, unit: str | None) -> float:
        found = scales.get(declared if unit is None else unit)
        if found is None:
            raise MessageRefusedError(
                f"the unit is {unit or declared!r}; {sensor.name!r} is read in {', '.join(scales)}"
            )
        return value * found[0] + found[1]

    return scale


def _rain(sensor: RainSensor) -> Converter:
    tip_mm = sensor.tip
    if tip_mm is None:
        scale = _scaled(sensor, _WATER_DEPTHS, "mm")
    else:
        scale = _scaled(sensor, _COUNTS, "count")

    def convert(value: float, unit: str | None) -> Converted:
        counted = scale(value, unit)
        if counted < 0:
            raise MessageRefusedError(
                f"a rain counter shows {value:g}, and cannot be below nothing"
            )
        if tip_mm is not None:
            if counted != int(counted):
                raise MessageRefusedError(f"{value:g} is no whole number of tips")
            counted *= tip_mm
        if counted > MOST_RAIN_MM:
            return counted, FAIL, f"{counted:.0f} mm of rain is more than a gauge can count"
        return counted, PASS, None

    return convert


def _temperature(sensor: TemperatureSensor) -> Converter:
    scale = _scaled(sensor, _TEMPERATURES, "Cel")

    def convert(value: float, unit: str | None) -> Converted:
        celsius = scale(value, unit)
        if COLDEST_C <= celsius <= WARMEST_C:
            return celsius, PASS, None
        outside = f"{celsius:.0f} °C is outside {COLDEST_C:.0f} to {WARMEST_C:.0f} °C"
        return celsius, FAIL, SAYS_A_FAULT.get(round(celsius, 6), outside)

    return convert


def _level(sensor: LevelSensor, butt: Butt) -> Converter:
    is_senml = sensor.payload == "senml"
    if sensor.reads == "litres":
        scales, usual = _SENML_VOLUMES if is_senml else _VOLUMES, "L"
    elif sensor.reads == "percent":
        scales, usual = _SENML_SHARES if is_senml else _SHARES, "%"
    else:
        scales, usual = _LENGTHS, "m"
    scale = _scaled(sensor, scales, usual)
    share = _share_of_full(sensor, butt)
    geometry = butt.geometry
    capacity_l = geometry.capacity_l
    nearest_m = sensor.blind

    # A probe says the same millimetres over and over, and a shape takes a while to compute.
    @lru_cache(maxsize=4096)
    def convert(value: float, unit: str | None) -> Converted:
        scaled = scale(value, unit)
        reason = None
        if nearest_m is not None and scaled < nearest_m:
            part, reason = min(share(nearest_m), 1.0), "full or nearly"
        else:
            part = share(scaled)
        if not LOWEST_SHARE <= part <= HIGHEST_SHARE:
            return part * capacity_l, FAIL, f"{part:.0%} of full is no level of {butt.name!r}"
        if sensor.reads in {"litres", "percent"}:
            litres = min(max(part, 0.0), 1.0) * capacity_l
        else:
            litres = float(geometry.volume_l(part * geometry.height_m))
        return litres, PASS, reason

    return convert


def _share_of_full(sensor: LevelSensor, butt: Butt) -> Callable[[float], float]:
    """Return the function from what a probe reads to how much of full that is."""
    geometry = butt.geometry
    if sensor.reads == "percent":
        return lambda share: share
    if sensor.reads == "litres":
        return lambda litres: litres / geometry.capacity_l
    if sensor.reads == "depth":
        return lambda depth_m: depth_m / geometry.height_m
    lid_m = sensor.lid or geometry.height_m
    return lambda distance_m: (lid_m - distance_m) / geometry.height_m
