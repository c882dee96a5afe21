"""When a reading was taken: its own time where that can be, else the time it arrived."""

from __future__ import annotations

from collections import deque
from datetime import UTC, datetime
from typing import TYPE_CHECKING, NamedTuple

from steepwell.clock import from_ms, to_ms
from steepwell.errors import MessageRefusedError
from steepwell.sense.clocks import BEHIND_MS, STORED_MS, Clocks, clock_words
from steepwell.sense.flags import NOT_EVALUATED, PASS, SUSPECT
from steepwell.sense.text import finite, shown

if TYPE_CHECKING:
    from collections.abc import Mapping

    from steepwell.sense.readers import Measured

EARLIEST_MS = to_ms(datetime(2020, 1, 1, tzinfo=UTC))
BUILT_MS = to_ms(datetime(2026, 1, 1, tzinfo=UTC))
AHEAD_MS = 10 * 60_000
# Readings that wait for the clock to be set: two weeks of one a minute.
MOST_UNSET = 20_000
CLOCK_BEHIND_MS = 60 * 60_000
FIRST_IN_MILLISECONDS = 1e11


def moment_of(value: object) -> int:
    """Return a time in a JSON message.

    Parameters
    ----------
    value
        Seconds or milliseconds since 1970 (from 1e11, which as seconds is the year 5138, they are
        milliseconds), or an ISO 8601 text with its time zone.

    Returns
    -------
    int
        [ms since 1970].

    Raises
    ------
    MessageRefusedError
        If it is none of these.
    """
    if isinstance(value, str):
        try:
            moment = datetime.fromisoformat(value.strip())
        except ValueError:
            raise MessageRefusedError(f"its time is {shown(value)}, which is no time") from None
        if moment.tzinfo is None:
            raise MessageRefusedError(f"its time, {shown(value)}, is without a time zone")
        return to_ms(moment)
    number = finite(value, "its time")
    return round(number if abs(number) >= FIRST_IN_MILLISECONDS else number * 1000)


class Moment(NamedTuple):
    """When a reading was taken, a flag and its reason, and whether it is the time of arrival."""

    time_ms: int
    flag: int
    reason: str | None
    is_arrival: bool = False


class Moments:
    """The rules for the time of a reading.

    A time in the message wins, unless it is before 2020 or more than ten minutes ahead. Without
    one, the time of arrival is taken, and readings of one sensor keep the order they came in. A
    clock that has long been wrong by the same is put right.

    A clock that shows less than the year this program was made in, or is an hour behind the
    newest reading that passed, is not set (a small board without a battery wakes up in the past).
    While it is not, a time in the message is believed and flagged as not evaluated; without one
    the reading goes behind the newest of its sensor and is flagged suspect, until the clock is set
    and tells when it came.

    Parameters
    ----------
    newest_ms
        Newest reading of each sensor [ms since 1970], by number of the sensor.
    newest_passed_ms
        Newest reading of all that passed; 0 before the first.
    replaying
        Whether the clock shows a past that is being replayed: then it is right by definition.
    clocks_ms
        What was learned before of clocks that are wrong, by number of the sensor [ms].
    """

    def __init__(
        self,
        newest_ms: Mapping[int, int],
        newest_passed_ms: int,
        *,
        replaying: bool,
        clocks_ms: Mapping[int, int] | None = None,
    ) -> None:
        self._newest_ms = dict(newest_ms)
        self._last_arrival_ms: dict[int, int] = {}
        self._newest_passed_ms = newest_passed_ms
        self._replaying = replaying
        self._clocks = Clocks(AHEAD_MS, clocks_ms)
        self._unset: deque[tuple[int, int, int]] = deque(maxlen=MOST_UNSET)
        self._earliest_ms = -(2**62) if replaying else EARLIEST_MS

    @property
    def clock_changes(self) -> dict[int, int | None]:
        """What was learned of clocks and is not stored yet; to be cleared when it is [ms]."""
        return self._clocks.changes

    def clock_is_set(self, now_ms: int) -> bool:
        """Return whether the clock can be right."""
        return self._replaying or (
            now_ms >= BUILT_MS and now_ms >= self._newest_passed_ms - CLOCK_BEHIND_MS
        )

    def shift_unset(self, by_ms: int) -> None:
        """Learn by how much the clock was wrong when readings came that wait for their time."""
        shifted = [(of, stored_ms, came_ms + by_ms) for of, stored_ms, came_ms in self._unset]
        self._unset = deque(shifted, MOST_UNSET)

    def take_unset(self) -> list[tuple[int, int, int]]:
        """Return sensor, stored time and time of arrival of what came by a clock not set."""
        taken, self._unset = self._unset, deque(maxlen=MOST_UNSET)
        return list(taken)

    def forget_after(self, now_ms: int) -> None:
        """Forget times that cannot have been, for our clock was ahead until now."""
        self._newest_passed_ms = min(self._newest_passed_ms, now_ms)
        self._newest_ms = {of: min(at_ms, now_ms) for of, at_ms in self._newest_ms.items()}
        self._last_arrival_ms = {
            of: at_ms for of, at_ms in list(self._last_arrival_ms.items()) if at_ms <= now_ms
        }

    def of(self, measured: Measured, arrival_ms: int) -> Moment:
        """Return when a value was measured.

        Parameters
        ----------
        measured
            The value as it was found in the message.
        arrival_ms
            When the message came [ms since 1970].
        """
        time_ms = measured.time_ms
        is_set = self.clock_is_set(arrival_ms)
        if time_ms is not None and is_set and not self._replaying:
            late_ms = arrival_ms - time_ms
            # Most clocks are right, and what is days old was stored.
            is_odd = late_ms < -AHEAD_MS or BEHIND_MS < late_ms <= STORED_MS
            asks = is_odd or self._clocks.suspects or time_ms < self._earliest_ms
            if asks and (put_right := self._put_right(measured.sensor, time_ms, arrival_ms)):
                return put_right
        if time_ms is not None and self._earliest_ms <= time_ms:
            if not is_set:
                return Moment(time_ms, NOT_EVALUATED, "its own time; our clock was not set")
            if time_ms <= arrival_ms + AHEAD_MS:
                self._newest_passed_ms = max(self._newest_passed_ms, time_ms)
                return Moment(time_ms, PASS, None)
        doubt, offset_ms = measured.doubt, measured.offset_ms
        if offset_ms and not self._earliest_ms <= arrival_ms + offset_ms <= arrival_ms + AHEAD_MS:
            time_ms, offset_ms = arrival_ms + offset_ms, 0
        if time_ms is not None:
            doubt = f"its time, {_shown(time_ms)}, cannot be"
        if not is_set:
            doubt = f"{doubt}, and our clock was not set" if doubt else "our clock was not set"
        at_ms = self._arrival(measured.sensor, arrival_ms, offset_ms, is_set=is_set)
        if doubt is None:
            self._newest_passed_ms = max(self._newest_passed_ms, at_ms)
            return Moment(at_ms, PASS, None, is_arrival=True)
        return Moment(at_ms, SUSPECT, f"{doubt}: time of arrival", is_arrival=True)

    def _put_right(self, sensor: int, time_ms: int, arrival_ms: int) -> Moment | None:
        """Return when it was by a clock that is known to be wrong, None where none is known."""
        possible = self._earliest_ms <= time_ms
        offset_ms = self._clocks.offset_ms(sensor, time_ms, arrival_ms, possible=possible)
        if not offset_ms:
            return None
        put_right_ms = min(time_ms + offset_ms, arrival_ms)
        return Moment(put_right_ms, NOT_EVALUATED, clock_words(offset_ms), is_arrival=True)

    def _arrival(self, sensor: int, arrival_ms: int, offset_ms: int, *, is_set: bool) -> int:
        if offset_ms:
            return arrival_ms + offset_ms
        last_ms = self._last_arrival_ms.get(sensor)
        if last_ms is None:
            last_ms = self._newest_ms.get(sensor, arrival_ms - 1)
            if is_set and last_ms > arrival_ms + AHEAD_MS:
                last_ms = arrival_ms - 1
        at_ms = max(arrival_ms, last_ms + 1)
        self._last_arrival_ms[sensor] = at_ms
        if not is_set:
            self._unset.append((sensor, at_ms, arrival_ms))
        return at_ms


def _shown(time_ms: int) -> str:
    try:
        return f"{from_ms(time_ms):%Y-%m-%d %H:%M}"
    except (OverflowError, ValueError, OSError):
        return f"{time_ms / 1000:.0f} s after 1970"
