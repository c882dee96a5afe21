"""Whether the clock on the wall can be believed, and when somebody has set it."""

from __future__ import annotations

import logging
from datetime import timedelta
from typing import TYPE_CHECKING, NamedTuple

from steepwell.clock import ReplayClock, from_ms
from steepwell.sense.moments import BUILT_MS, CLOCK_BEHIND_MS

if TYPE_CHECKING:
    from datetime import datetime

    from steepwell.clock import Clock
    from steepwell.sense.intake import Intake
    from steepwell.store.store import Store

log = logging.getLogger(__name__)

BUILT = from_ms(BUILT_MS)
MAY_BE_BEHIND = timedelta(milliseconds=CLOCK_BEHIND_MS)
# Less is a clock that is kept right little by little.
SET_BY = timedelta(minutes=1)
# A clock that was ahead leaves readings behind that are later than now, and nobody may ever put
# a clock right where there is no network.
PATIENCE_S = 86_400.0
# A clock that is set right by less leaves nothing to mend.
AHEAD = timedelta(minutes=10)


class Look(NamedTuple):
    """What the clock shows, whether scheduled work may go by it, and by how much it was set."""

    now: datetime
    believed: bool
    set_by: timedelta | None = None


class Timekeeper:
    """Looks at the clock, beside the time that has passed since the last look.

    A clock is believed that is neither before the making of this program nor more than an hour
    before the newest reading or the first run. One that was set while we ran was set by somebody
    who knew better, and is believed; so is one that has shown the same for a day.

    Parameters
    ----------
    clock
        The clock.
    newest
        The newest reading or the first run, whichever is later; None before both.
    """

    def __init__(self, clock: Clock, newest: datetime | None) -> None:
        self._clock = clock
        self._newest = newest
        self._replaying = isinstance(clock, ReplayClock)
        self._begun_s = clock.running_s()
        self._last = (clock.now(), self._begun_s)
        self._holds = False

    def look(self) -> Look:
        """Return what the clock shows; each change is said once in the log."""
        step, now, running_s = self._step()
        self._last = (now, running_s)
        was_set = abs(step) >= SET_BY
        if was_set:
            log.warning("the clock was set from %s to %s", _told(now - step), _told(now))
        waited = running_s - self._begun_s >= PATIENCE_S
        if self._newest is not None and (was_set or waited):
            self._newest = min(self._newest, now)
        believed = self._can_be(now)
        if believed == self._holds:
            self._holds = not believed
            self._say(now)
        return Look(now, believed, step if was_set else None)

    def was_set(self) -> bool:
        """Return whether somebody has set the clock since the last look."""
        return abs(self._step()[0]) >= SET_BY

    def _step(self) -> tuple[timedelta, datetime, float]:
        """Return by how much the clock was set since the last look, and what it shows."""
        now, running_s = self._clock.now(), self._clock.running_s()
        before, before_s = self._last
        return now - before - timedelta(seconds=running_s - before_s), now, running_s

    def _can_be(self, now: datetime) -> bool:
        if self._replaying:
            return self._newest is None or now >= self._newest
        least = BUILT if self._newest is None else max(BUILT, self._newest - MAY_BE_BEHIND)
        return now >= least

    def _say(self, now: datetime) -> None:
        if self._holds:
            log.warning(
                "the clock shows %s, which cannot be: what is scheduled waits until it is set; "
                "readings are taken in meanwhile",
                _told(now),
            )
        else:
            log.info("the clock shows %s, and work goes on by it", _told(now))


def _told(moment: datetime) -> str:
    return f"{moment:%Y-%m-%d %H:%M} UTC"


def newest_known(store: Store) -> datetime | None:
    """Return the newest reading that passed or the first run, None before both."""
    newest_ms = store.readings.newest_passed()
    known = [from_ms(newest_ms)] if newest_ms else []
    first_run = store.ledger.last("first-run")
    return max([*known, first_run] if first_run is not None else known, default=None)


def sort_out(look: Look, store: Store, intake: Intake | None) -> bool:
    """Put in its place what came while the clock was wrong.

    Parameters
    ----------
    look
        How the clock was found.
    store
        Where readings and ledger are.
    intake
        What hears the sensors, if there is a broker.

    Returns
    -------
    bool
        Whether the clock was ahead before.
    """
    if intake is not None and look.set_by is not None:
        intake.clock_was_set(look.set_by)
    if not look.believed:
        return False
    if intake is not None and (came := intake.timed_anew()):
        store.readings.move(came)
    was_ahead = forget_what_is_ahead(store, look.now)
    if was_ahead and intake is not None:
        intake.clock_was_ahead(look.now)
    return was_ahead


def forget_what_is_ahead(store: Store, now: datetime) -> bool:
    """Forget what was done, and doubt what was read, at times that have not come yet.

    Parameters
    ----------
    store
        Where ledger and readings are.
    now
        The moment, by a clock that is believed.

    Returns
    -------
    bool
        Whether there was such a thing, which a clock leaves behind that was ahead.
    """
    ahead = [job for job, at in store.ledger.all().items() if at > now + AHEAD]
    if ahead:
        log.warning("the clock was ahead before %s: what was read then is doubted", _told(now))
        with store.transaction():
            for job in ahead:
                store.ledger.finish(job, now)
            store.readings.doubt_after(now + AHEAD)
    return bool(ahead)
