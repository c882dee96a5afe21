"""The air around a probe as it was measured: its temperature and its pressure."""

from __future__ import annotations

from bisect import bisect_right, insort
from typing import TYPE_CHECKING

from steepwell.clock import from_ms
from steepwell.garden.garden import AIR
from steepwell.garden.sensors import LevelSensor

if TYPE_CHECKING:
    from collections.abc import Callable

    from steepwell.garden.garden import Garden
    from steepwell.store.readings import Reading
    from steepwell.store.store import Store

# Air that was measured longer ago says nothing of now.
STILL_SO_MS = 3 * 3_600_000
KEPT_MS = 48 * 3_600_000


class Known:
    """What one sensor read of late, and before that what the store holds.

    Parameters
    ----------
    stored
        Returns the newest good reading at or before a time [ms since 1970], or None.
    """

    def __init__(self, stored: Callable[[int], Reading | None]) -> None:
        self._stored = stored
        self._since_ms: int | None = None
        self._points: list[tuple[int, float]] = []

    def note(self, time_ms: int, value: float) -> None:
        """Remember a reading."""
        if self._since_ms is None:
            self._since_ms = time_ms
        if time_ms >= self._since_ms:
            insort(self._points, (time_ms, value))
            if self._points[0][0] < self._points[-1][0] - 2 * KEPT_MS:
                self._since_ms = self._points[-1][0] - KEPT_MS
                del self._points[: bisect_right(self._points, (self._since_ms,))]

    def at(self, time_ms: int) -> float | None:
        """Return what it read last at or before a time, None if that is too long ago.

        Never what came after: a message that comes again must find what it found before.
        """
        at = bisect_right(self._points, (time_ms, float("inf")))
        if at:
            read_ms, value = self._points[at - 1]
            return value if time_ms - read_ms <= STILL_SO_MS else None
        stored = self._stored(time_ms)
        if stored is None or time_ms - stored.time_ms > STILL_SO_MS:
            return None
        return stored.value


def surroundings(garden: Garden, store: Store) -> Surroundings | None:
    """Return the air around the probes of a garden, None if none of them asks for it."""
    asked = (s.needs_surroundings for s in garden.sensor if isinstance(s, LevelSensor))
    return Surroundings(garden, store) if any(asked) else None


class Surroundings:
    """Temperature and pressure of the air, for probes that cannot do without.

    Parameters
    ----------
    garden
        The garden.
    store
        What was read before.
    """

    def __init__(self, garden: Garden, store: Store) -> None:
        air, barometer = garden.temperature_sensor(AIR), garden.barometer
        self._by_sensor: dict[int, Known] = {}
        self._air = None if air is None else self._known(air.name, store)
        self._barometer = None if barometer is None else self._known(barometer.name, store)

    def _known(self, name: str, store: Store) -> Known:
        known = Known(lambda time_ms: store.readings.last_good(name, from_ms(time_ms)))
        self._by_sensor[store.readings.ids[name]] = known
        return known

    def note(self, sensor: int, time_ms: int, value: float) -> None:
        """Remember a good reading, by number of the sensor [ms since 1970]."""
        known = self._by_sensor.get(sensor)
        if known is not None:
            known.note(time_ms, value)

    def air_c(self, time_ms: int) -> float | None:
        """Return the temperature of the air at a time [ms since 1970], None if not known [°C]."""
        return None if self._air is None else self._air.at(time_ms)

    def air_pa(self, time_ms: int) -> float | None:
        """Return the pressure of the air at a time [ms since 1970], None if not known [Pa]."""
        return None if self._barometer is None else self._barometer.at(time_ms)
