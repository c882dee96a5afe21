"""Lets a garden live through the weeks before a day, so that it begins in a likely state."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from steepwell_sim.gardener.gardener import Gardener
from steepwell_sim.gardener.notes import EVENING
from steepwell_sim.weather.hours import hours_of_day, local_midnight
from steepwell_sim.weather.record import Record, first_of_unbroken_run
from steepwell_sim.world.parameters import draw_parameters
from steepwell_sim.world.world import World

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden

_LEAST_DAYS_BEFORE = 90


def world_on(garden: Garden, record: Record, day: date, *, last: date, seed: int) -> World:
    """Return a garden as it is at the beginning of a day.

    It begins with full butts and wet soils on 1 January or 90 days before, whichever is earlier, or
    where the record begins; from then on it is watered once a week.

    Parameters
    ----------
    garden
        What the owner declared.
    record
        Daily weather; holds ``day``.
    day, last
        First and last local date of what follows.
    seed
        Draws what is otherwise than declared, and the hours of rain.

    Returns
    -------
    World
        At local midnight, its accounts empty.
    """
    at_most = max(_LEAST_DAYS_BEFORE, (day - date(day.year, 1, 1)).days)
    start = first_of_unbroken_run(record, day, at_most=at_most)
    world = World(
        garden,
        draw_parameters(garden, seed),
        air_c=(record[start].tmin_c + record[start].tmax_c) / 2,
        first_year=start.year,
        last_year=last.year,
    )
    site = garden.garden
    gardener = Gardener(world, habit="weekly")
    while start < day:
        world.begin_day(local_midnight(start, site.zone))
        for hour in hours_of_day(record, start, site, seed):
            world.pass_hour(hour)
            if hour.end.astimezone(site.zone).time() == EVENING:
                gardener.water(hour.end)
        start += timedelta(days=1)
    world.begin_day(local_midnight(day, site.zone))
    for bed in world.beds.values():
        bed.forget_cleared()
    return world
