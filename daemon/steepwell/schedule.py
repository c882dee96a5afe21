"""Which jobs are due: a pure function of the moment and the ledger."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from typing import TYPE_CHECKING, Literal

from apscheduler.triggers.cron import CronTrigger

from steepwell.store.ledger import CAUGHT_UP, LATE

if TYPE_CHECKING:
    from collections.abc import Mapping

    from steepwell.garden.garden import Garden
    from steepwell.garden.site import Hours

JobName = Literal["forecast", "outlook", "watch", "letter", "mirror", "compact", "backup"]
# What the outlook needs is fetched first, what the letter tells is worked out first, and after an
# outage a backup is made before it is looked whether the last one is old.
ORDER: tuple[JobName, ...] = (
    "forecast",
    "outlook",
    "compact",
    "backup",
    "watch",
    "letter",
    "mirror",
)

# Not on the hour, when everybody asks.
FORECAST_AT_MINUTE = 20
# After the readings of the whole hour have come.
MIRROR_AT_MINUTE = 5
# At night, local time: when little else is done, and after both changes of the clocks.
NIGHT_WORK_AT = 3, 10

# A stored day comes in many messages, and is worked out when all of them are there.
LATE_SETTLES = timedelta(minutes=5)

_LOOK_BACK = {
    "forecast": timedelta(hours=1),
    "outlook": timedelta(days=2),
    "watch": timedelta(minutes=15),
    "letter": timedelta(days=8),
    "mirror": timedelta(hours=1),
    "compact": timedelta(days=2),
    "backup": timedelta(days=2),
}


@dataclass(frozen=True, slots=True)
class Due:
    """A job and the start of the period it is due for, in UTC.

    A job that is due again has finished the period before, and something has changed since that
    was in it.
    """

    job: JobName
    period: datetime
    again: bool = False


def due(garden: Garden, ledger: Mapping[str, datetime], now: datetime) -> list[Due]:
    """Return the jobs to run now, in the order in which to run them.

    A job that missed several periods is due once, for the last of them. The outlook is due again
    when readings have come that are long past, as a device sends that has stored a day, or an entry
    in the journal that unsettles what is told.

    Parameters
    ----------
    garden
        The garden, for its hours and its time zone.
    ledger
        The last period each job finished.
    now
        The moment.

    Returns
    -------
    list of Due
        Empty when everything has been done.
    """
    periods = ((job, _missed_period(job, garden, ledger.get(job), now)) for job in ORDER)
    jobs = [Due(job, period) for job, period in periods if period is not None]
    last = ledger.get("outlook")
    if last is None or any(one.job == "outlook" for one in jobs) or not _has_late(ledger, now):
        return jobs
    return sorted([*jobs, Due("outlook", last, again=True)], key=lambda one: ORDER.index(one.job))


def _has_late(ledger: Mapping[str, datetime], now: datetime) -> bool:
    """Return whether something came late and is in no outlook, and no more is coming."""
    late, caught_up = ledger.get(LATE), ledger.get(CAUGHT_UP)
    if late is None or (caught_up is not None and caught_up >= late):
        return False
    return now - late >= LATE_SETTLES


def _missed_period(
    job: JobName, garden: Garden, finished: datetime | None, now: datetime
) -> datetime | None:
    """Return the start of the last period of a job that began by now and is not finished."""
    if job == "forecast" and (garden.forecast is None or garden.forecast.url is None):
        return None
    if job == "mirror" and garden.mirror is None:
        return None
    if job == "backup" and garden.store.backups is False:
        return None
    trigger = _trigger(job, garden.hours, garden.garden.timezone)
    since = now - _LOOK_BACK[job]
    if finished is not None:
        since = max(since, finished + timedelta(seconds=1))
    fires = trigger.get_next_fire_time(None, since)
    missed: datetime | None = None
    last = finished
    while fires is not None and fires.astimezone(UTC) <= now:
        # In the hour that comes twice, the hands of the clock pass a time a second time.
        if last is None or _hands(fires, fires) != _hands(last, fires):
            missed = last = fires
        fires = trigger.get_next_fire_time(fires, fires)
    return missed.astimezone(UTC) if missed else None


def _hands(moment: datetime, like: datetime) -> datetime:
    """Return what the clock on the wall shows at a moment, where another one is told."""
    return moment.astimezone(like.tzinfo).replace(tzinfo=None)


@lru_cache(maxsize=8)
def _trigger(job: JobName, hours: Hours, timezone: str) -> CronTrigger:
    if job == "watch":
        return CronTrigger(minute="*/15", timezone=UTC)
    if job == "forecast":
        return CronTrigger(minute=FORECAST_AT_MINUTE, timezone=UTC)
    if job == "mirror":
        return CronTrigger(minute=MIRROR_AT_MINUTE, timezone=UTC)
    if job in {"compact", "backup"}:
        return CronTrigger(hour=NIGHT_WORK_AT[0], minute=NIGHT_WORK_AT[1], timezone=timezone)
    hour, minute = (hours.daily if job == "outlook" else hours.weekly).split(":")
    weekday = hours.weekly_on if job == "letter" else "*"
    return CronTrigger(day_of_week=weekday, hour=hour, minute=minute, timezone=timezone)
