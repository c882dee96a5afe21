"""Clocks of devices that are wrong by hours or years, and by how much."""

from __future__ import annotations

from collections import deque
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

MINUTE_MS = 60_000
HOUR_MS = 60 * MINUTE_MS
# A message later than this may come from a clock that is behind, and not from one that is right and
# was kept back; one that is later than a day and a time zone has been stored.
BEHIND_MS, STORED_MS = 50 * MINUTE_MS, 26 * HOUR_MS
# So many messages, over so long, that are late by the same to so much: that is a clock.
BURST_MS = 10_000
ENOUGH, OVER_MS, ALIKE_MS = 6, HOUR_MS, 2 * MINUTE_MS


class Clocks:
    """Learns by how much the clock of a sensor is wrong, from messages that come as they are made.

    A stored day comes at once, and each of its messages is late by something else, so that nothing
    is learned from it; but what was learned before puts its times right.

    Parameters
    ----------
    ahead_ms
        How far ahead of ours a clock may be and is believed [ms].
    known_ms
        What was learned before, by number of the sensor [ms].

    Attributes
    ----------
    suspects
        Arrival and lateness of the last messages of sensors that may have a wrong clock [ms].
    changes
        What was learned, or is None since it holds no longer, until it is cleared [ms].
    """

    def __init__(self, ahead_ms: int, known_ms: Mapping[int, int] | None = None) -> None:
        self._ahead_ms = ahead_ms
        self._offset_ms = dict(known_ms or {})
        self.suspects: dict[int, deque[tuple[int, int]]] = {
            sensor: deque(maxlen=ENOUGH) for sensor in self._offset_ms
        }
        self._heard_ms: dict[int, int] = dict.fromkeys(self._offset_ms, 0)
        self.changes: dict[int, int | None] = {}

    def offset_ms(self, sensor: int, time_ms: int, arrival_ms: int, *, possible: bool) -> int:
        """Return what is to be added to a time, 0 where the clock is right or not known [ms].

        Parameters
        ----------
        sensor
            Number of the sensor.
        time_ms
            The time in its message [ms since 1970].
        arrival_ms
            When it came [ms since 1970].
        possible
            Whether the time can be at all.
        """
        late_ms = arrival_ms - time_ms
        if possible and -self._ahead_ms <= late_ms <= BEHIND_MS:
            if sensor not in self.suspects:
                return 0
            if not self._is_in_a_burst(sensor, arrival_ms):
                # It was set.
                del self.suspects[sensor], self._heard_ms[sensor]
                self._forget(sensor)
                return 0
            return self._offset_ms.get(sensor, 0)
        if possible and late_ms > STORED_MS and sensor not in self._offset_ms:
            return 0
        self._learn(sensor, late_ms, arrival_ms)
        self._heard_ms[sensor] = arrival_ms
        return self._offset_ms.get(sensor, 0)

    def _is_in_a_burst(self, sensor: int, arrival_ms: int) -> bool:
        """Return whether a message comes so soon after another that it has been stored."""
        return arrival_ms - self._heard_ms.get(sensor, 0) < BURST_MS

    def _learn(self, sensor: int, late_ms: int, arrival_ms: int) -> None:
        known_ms = self._offset_ms.get(sensor)
        if known_ms is not None:
            if late_ms >= known_ms - ALIKE_MS:
                return
            # It was set anew.
            self._forget(sensor)
        heard = self.suspects.setdefault(sensor, deque(maxlen=ENOUGH))
        if heard and arrival_ms - heard[-1][0] < OVER_MS // ENOUGH:
            return
        heard.append((arrival_ms, late_ms))
        lates = [late for _, late in heard]
        if (
            len(heard) == ENOUGH
            and max(lates) - min(lates) <= ALIKE_MS
            and arrival_ms - heard[0][0] >= OVER_MS * (ENOUGH - 1) // ENOUGH
        ):
            self._offset_ms[sensor] = self.changes[sensor] = min(lates)

    def _forget(self, sensor: int) -> None:
        if self._offset_ms.pop(sensor, None) is not None:
            self.changes[sensor] = None


def clock_words(offset_ms: int) -> str:
    """Return how wrong a clock is, in words."""
    side = "behind" if offset_ms > 0 else "ahead"
    minutes = abs(offset_ms) / MINUTE_MS
    if minutes < 120:  # noqa: PLR2004 - minutes are told up to two hours
        much = f"{minutes:.0f} minutes"
    elif minutes < 48 * 60:
        much = f"{minutes / 60:.1f} hours"
    else:
        much = f"{minutes / 1440:.0f} days"
    return f"its clock is {much} {side}, and was put right"
