"""The only place that reads the clock."""

from __future__ import annotations

import threading
import time
from datetime import UTC, datetime
from typing import Protocol


class Clock(Protocol):
    """What tells the time."""

    def now(self) -> datetime:
        """Return the present moment in UTC."""
        ...

    def running_s(self) -> float:
        """Return how much time has passed since some moment, whoever sets the clock [s]."""
        ...


class WallClock:
    """The clock on the wall."""

    def now(self) -> datetime:
        """Return the present moment in UTC."""
        return datetime.now(UTC)  # noqa: TID251 - the one place

    def running_s(self) -> float:
        """Return how much time has passed since the machine started [s]."""
        return time.monotonic()


class ReplayClock:
    """A clock that stands still until it is set.

    Parameters
    ----------
    start
        Aware datetime it shows at first.
    """

    def __init__(self, start: datetime) -> None:
        self._lock = threading.Lock()
        self._now = start.astimezone(UTC)

    def now(self) -> datetime:
        """Return the moment the clock was last set to, in UTC."""
        with self._lock:
            return self._now

    def running_s(self) -> float:
        """Return how much time has passed, for the hands are never wrong [s]."""
        return self.now().timestamp()

    def set(self, now: datetime) -> None:
        """Move the hands to ``now``."""
        with self._lock:
            self._now = now.astimezone(UTC)


def to_ms(moment: datetime) -> int:
    """Return an aware datetime as whole milliseconds since 1970."""
    return round(moment.timestamp() * 1000)


def from_ms(time_ms: int) -> datetime:
    """Return milliseconds since 1970 as a UTC datetime."""
    return datetime.fromtimestamp(time_ms / 1000, UTC)
