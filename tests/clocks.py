"""A clock that can be wrong."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import datetime, timedelta


class ShedClock:
    """A clock on the wall of a shed: time passes, and now and then somebody sets it."""

    def __init__(self, shows: datetime) -> None:
        self.shows = shows
        self.runs_s = 1000.0

    def now(self) -> datetime:
        return self.shows

    def running_s(self) -> float:
        return self.runs_s

    def passes(self, time: timedelta) -> None:
        self.shows += time
        self.runs_s += time.total_seconds()
