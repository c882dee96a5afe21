"""From what a probe says about a butt to the litres in it."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from steepwell.model.probes import depth_from_pressure_m, echo_distance_m
from steepwell.sense.flags import FAIL, PASS, SUSPECT
from steepwell.sense.units import LENGTHS, PRESSURES, SHARES, VOLUMES, scaled

if TYPE_CHECKING:
    from collections.abc import Callable

    from steepwell.garden.sensors import LevelSensor
    from steepwell.garden.water import Butt
    from steepwell.sense.flags import Converted, Converter, Finisher
    from steepwell.sense.surroundings import Surroundings

LOWEST_SHARE, HIGHEST_SHARE = -0.05, 1.05
# Common practice, no source.
NO_ECHO = "0 is what a probe says that hears no echo"
NO_BAROMETER = "the pressure of the air is not known, and the probe feels it too"

_SCALES = {
    "litres": (VOLUMES, "L"),
    "percent": (SHARES, "%"),
    "pressure": (PRESSURES, "Pa"),
    "depth": (LENGTHS, "m"),
    "distance from lid": (LENGTHS, "m"),
}


def level_converter(sensor: LevelSensor, butt: Butt) -> Converter:
    """Return the function from a probe's value to litres.

    Parameters
    ----------
    sensor
        The probe.
    butt
        What it looks into.

    Returns
    -------
    callable
        As ``convert.converter``; of a probe that needs its surroundings, gives what it says in the
        unit used inside, for ``level_finisher``.
    """
    scale = scaled(sensor, *_SCALES[sensor.reads])
    if sensor.needs_surroundings:
        return lambda value, unit: (scale(value, unit), PASS, None)
    litres = _litres(sensor, butt)

    # A probe says the same millimetres over and over, and a shape takes a while to compute.
    @lru_cache(maxsize=4096)
    def convert(value: float, unit: str | None) -> Converted:
        return litres(scale(value, unit))

    return convert


def level_finisher(sensor: LevelSensor, butt: Butt, around: Surroundings) -> Finisher:
    """Return the function that takes the air into account, and gives litres.

    Parameters
    ----------
    sensor
        A probe that needs its surroundings.
    butt
        What it looks into.
    around
        Tells temperature and pressure of the air.

    Returns
    -------
    callable
        Takes what the converter gave and the time of the reading [ms since 1970]; gives value in
        litres, flag and reason.
    """
    litres = _litres(sensor, butt)
    reckoned_at_c = sensor.sound_at
    if reckoned_at_c is not None:

        def by_sound(distance_m: float, time_ms: int) -> Converted:
            air_c = around.air_c(time_ms)
            if air_c is None:
                return litres(distance_m)
            return litres(echo_distance_m(distance_m, reckoned_at_c, air_c))

        return by_sound

    def by_pressure(pressure_pa: float, time_ms: int) -> Converted:
        air_pa = around.air_pa(time_ms)
        if air_pa is None:
            return 0.0, FAIL, NO_BAROMETER
        return litres(pressure_pa - air_pa)

    return by_pressure


def _litres(sensor: LevelSensor, butt: Butt) -> Callable[[float], Converted]:
    """Return the function from what a probe reads, in the unit used inside, to litres."""
    share = _share_of_full(sensor, butt)
    geometry = butt.geometry
    capacity_l = geometry.capacity_l
    is_volume = sensor.reads in {"litres", "percent"}
    # Nearer than that a probe cannot tell: the butt is full or nearly, and holds at least so much.
    nearest_m = sensor.blind or 0.0

    def convert(read: float) -> Converted:
        part = min(share(nearest_m), 1.0) if 0.0 <= read < nearest_m else share(read)
        if not LOWEST_SHARE <= part <= HIGHEST_SHARE:
            return part * capacity_l, FAIL, f"{part:.0%} of full is no level of {butt.name!r}"
        if is_volume:
            return min(max(part, 0.0), 1.0) * capacity_l, PASS, None
        filled_l = float(geometry.volume_l(part * geometry.height_m))
        if read == 0.0 and nearest_m:
            return filled_l, SUSPECT, NO_ECHO
        return filled_l, PASS, None

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
    if sensor.reads == "pressure":
        return lambda pressure_pa: depth_from_pressure_m(pressure_pa) / geometry.height_m
    lid_m = sensor.lid or geometry.height_m
    return lambda distance_m: (lid_m - distance_m) / geometry.height_m
