"""What a sensor read last, as the page and the status tell it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from steepwell.garden.days import local_day, midnight
from steepwell.garden.sensors import Barometer, LevelSensor, RainSensor
from steepwell.words.figures import litres
from steepwell.words.saying import say

if TYPE_CHECKING:
    from datetime import datetime

    from steepwell.garden.garden import Garden
    from steepwell.garden.sensors import Sensor
    from steepwell.store.readings import Reading
    from steepwell.store.store import Store

PA_A_HPA = 100.0


def rain_today_mm(garden: Garden, store: Store, now: datetime) -> float | None:
    """Return what the gauge has counted since midnight [mm], None without a gauge."""
    gauge = garden.rain_sensor
    if gauge is None:
        return None
    since = midnight(garden, local_day(garden, now))
    return sum(rise_mm for _, rise_mm in store.readings.hourly_rise(gauge.name, since, now))


def reading_told(sensor: Sensor, reading: Reading, rain_mm: float | None) -> str:
    """Return what a sensor read last, of a gauge what has fallen today.

    Parameters
    ----------
    sensor
        The sensor.
    reading
        Its newest reading.
    rain_mm
        What the gauge has counted since midnight [mm].

    Returns
    -------
    str
        With its unit; nothing where nothing can be said.
    """
    if isinstance(sensor, RainSensor):
        return "" if rain_mm is None else say("things.today", mm=f"{rain_mm:.1f}")
    if isinstance(sensor, LevelSensor):
        return litres(reading.value)
    if isinstance(sensor, Barometer):
        return f"{reading.value / PA_A_HPA:.0f} hPa"
    return f"{reading.value:.1f} °C"
