"""When devices report."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from steepwell.errors import CommandError

if TYPE_CHECKING:
    from collections.abc import Iterator
    from zoneinfo import ZoneInfo

    from steepwell_sim.weather.hours import Hour
    from steepwell_sim.world.world import World

MINUTES_IN_HOUR = 60
MINUTES_IN_DAY = 1440


def check_interval(minutes: int) -> None:
    """Refuse an interval that does not fit into hours and days.

    Parameters
    ----------
    minutes
        Between two reports of a device [min].

    Raises
    ------
    CommandError
        If it is neither a part of an hour nor whole hours up to a day.
    """
    part_of_hour = minutes >= 1 and MINUTES_IN_HOUR % minutes == 0
    whole_hours = minutes % MINUTES_IN_HOUR == 0 and MINUTES_IN_HOUR <= minutes <= MINUTES_IN_DAY
    if not (part_of_hour or whole_hours):
        raise CommandError(
            f"--every {minutes} does not fit; give 60, a part of it, or whole hours up to 1440."
        )


def live_through(
    world: World, hour: Hour, every_minutes: int, zone: ZoneInfo
) -> Iterator[datetime]:
    """Let an hour pass in a garden, and yield the moments at which devices report in it.

    Parameters
    ----------
    world
        The true garden; within the hour it is as at its start, at its end as at its end.
    hour
        The hour.
    every_minutes
        Between two reports [min], counted from local midnight.
    zone
        The garden's time zone.

    Yields
    ------
    datetime
        Moments after the start of the hour up to its end.
    """
    moments = moments_to_report(hour, every_minutes, zone)
    yield from (moment for moment in moments if moment < hour.end)
    world.pass_hour(hour)
    yield from (moment for moment in moments if moment == hour.end)


def moments_to_report(hour: Hour, every_minutes: int, zone: ZoneInfo) -> list[datetime]:
    """Return the moments of an hour at which devices report, its end included, its start not.

    Parameters
    ----------
    hour
        The hour.
    every_minutes
        Between two reports [min], counted from local midnight.
    zone
        The garden's time zone.

    Returns
    -------
    list of datetime
        In order; empty if none falls into the hour.
    """
    if every_minutes < MINUTES_IN_HOUR:
        steps = MINUTES_IN_HOUR // every_minutes
        return [hour.start + timedelta(minutes=every_minutes * (n + 1)) for n in range(steps)]
    local = hour.end.astimezone(zone)
    minute_of_day = local.hour * MINUTES_IN_HOUR + local.minute
    return [hour.end] if minute_of_day % every_minutes == 0 else []
