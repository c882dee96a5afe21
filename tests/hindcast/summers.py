"""Dry summers of the records, and a simulated garden that lives through one."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Any

from tests.records import fetch

from steepwell.garden.load import load_garden
from steepwell.garden.tables import config_dir
from steepwell_sim.gardener.gardener import Gardener
from steepwell_sim.gardener.notes import EVENING, usual_notes
from steepwell_sim.start import world_on
from steepwell_sim.weather.hours import hours_of_day
from steepwell_sim.weather.record import read_record

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from steepwell.garden.garden import Garden
    from steepwell_sim.gardener.habits import Habit
    from steepwell_sim.world.world import World

    PlanOn = Callable[[World, datetime], dict[str, Any]]

FROM, TO = (5, 15), (9, 5)
DRIEST = 10
SEED = 1
# The hour in which a replay's daemon has made its daily plan.
PLAN_HOUR = 7


@dataclass(frozen=True, slots=True)
class Site:
    """Where a record was taken: degrees, degrees, metres above the sea."""

    latitude: float
    longitude: float
    elevation_m: float


SITES = {"brussels": Site(50.8, 4.35, 100.0), "cambridge": Site(52.2, 0.13, 15.0)}


@dataclass(frozen=True, slots=True)
class Summer:
    """A summer of a record.

    Attributes
    ----------
    place
        Name of the record.
    year
        Its year.
    rain_mm
        What fell [mm].
    until
        Month and day of its last day.
    """

    place: str
    year: int
    rain_mm: float
    until: tuple[int, int] = TO

    @property
    def record(self) -> Path:
        """The daily record it is in."""
        return dict(zip(SITES, fetch(), strict=True))[self.place]

    @property
    def first(self) -> date:
        """Its first day."""
        return date(self.year, *FROM)

    @property
    def last(self) -> date:
        """Its last day."""
        return date(self.year, *self.until)

    def garden(self, name: str) -> Garden:
        """Return a test garden at the place of the record."""
        garden = load_garden(config_dir() / "gardens" / f"{name}.toml")
        site = SITES[self.place]
        where = {
            "latitude": site.latitude,
            "longitude": site.longitude,
            "elevation": site.elevation_m,
        }
        return garden.model_copy(update={"garden": garden.garden.model_copy(update=where)})


def driest(place: str, count: int = DRIEST) -> list[Summer]:
    """Return the summers of a record with least rain, the driest first.

    Parameters
    ----------
    place
        Name of the record.
    count
        How many.

    Returns
    -------
    list of Summer
        Only those that the record has whole.
    """
    days = read_record(Summer(place, 0, 0.0).record)
    length = (date(1, *TO) - date(1, *FROM)).days + 1
    summers = []
    for year in sorted({day.year for day in days}):
        first = date(year, *FROM)
        rain_mm = [
            days[day].rain_mm for k in range(length) if (day := first + timedelta(days=k)) in days
        ]
        if len(rain_mm) == length:
            summers.append(Summer(place, year, sum(rain_mm)))
    return sorted(summers, key=lambda summer: summer.rain_mm)[:count]


def lived_through(
    garden: Garden, summer: Summer, habit: Habit, plan_on: PlanOn | None = None
) -> float:
    """Let a garden live through a summer without a daemon, as a replay would let it.

    Parameters
    ----------
    garden
        The garden.
    summer
        The summer.
    habit
        How its gardener waters.
    plan_on
        Makes the plan of a morning for a gardener who follows one.

    Returns
    -------
    float
        The weighted loss of its crops [-].
    """
    days = read_record(summer.record)
    world = world_on(garden, days, summer.first, last=summer.last, seed=SEED)
    notes = usual_notes(garden, summer.first, summer.last)
    gardener = Gardener(world, habit=habit, notes=notes)
    day = summer.first
    while day <= summer.last:
        hours = hours_of_day(days, day, garden.garden, SEED)
        world.begin_day(hours[0].start)
        for hour in hours:
            world.pass_hour(hour)
            local = hour.end.astimezone(garden.garden.zone)
            if plan_on is not None and local.hour == PLAN_HOUR:
                gardener.hear(plan_on(world, hour.end))
            gardener.do_what_is_noted(hour.end)
            if local.time() == EVENING:
                gardener.water(hour.end)
        day += timedelta(days=1)
    return world.weighted_loss()
