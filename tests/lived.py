"""Lets a simulated garden live through a season and stores what its sensors and gardener tell."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from steepwell.clock import to_ms
from steepwell.sense.convert import converter
from steepwell.store.arrivals import Batch
from steepwell.store.entries import parse_entry
from steepwell_sim.devices.instruments import Instrument
from steepwell_sim.gardener.gardener import Gardener
from steepwell_sim.gardener.notes import EVENING
from steepwell_sim.start import world_on
from steepwell_sim.weather.hours import hours_of_day

if TYPE_CHECKING:
    from datetime import date, datetime

    from steepwell.garden.garden import Garden
    from steepwell.store.store import Store
    from steepwell_sim.gardener.habits import Habit
    from steepwell_sim.weather.record import Record
    from steepwell_sim.world.world import World


@dataclass(slots=True)
class Lived:
    """What truly was.

    Attributes
    ----------
    world
        The garden at the end.
    litres
        Water in each butt at the end of each day, in declared litres as a probe tells them [L].
    watered
        What the gardener gave, told or not; as journal entries.
    """

    world: World
    litres: dict[date, dict[str, float]] = field(default_factory=dict)
    watered: list[dict[str, Any]] = field(default_factory=list)


def live(
    garden: Garden,
    store: Store,
    weather: Record,
    first: date,
    last: date,
    *,
    seed: int,
    habit: Habit = "weekly",
    tells: bool = True,
) -> Lived:
    """Live from one local day to another; sensors speak every hour, the gardener in the evening."""
    world = world_on(garden, weather, first, last=last, seed=seed)
    lived = Lived(world)
    gardener = Gardener(world, habit=habit)
    sensors = [
        (
            store.readings.ids[sensor.name],
            Instrument(sensor, world, seed),
            converter(sensor, garden),
        )
        for sensor in garden.sensor
    ]
    day = first
    while day <= last:
        batch = Batch()
        hours = hours_of_day(weather, day, garden.garden, seed)
        world.begin_day(hours[0].start)
        for hour in hours:
            world.pass_hour(hour)
            for number, instrument, convert in sensors:
                figure = instrument.measure()
                batch.timed.append((to_ms(hour.end), number, *convert(figure.value, figure.unit)))
                batch.origins.append((to_ms(hour.end), "", b""))
            if hour.end.astimezone(garden.garden.zone).time() == EVENING:
                watered = gardener.water(hour.end)
                lived.watered += watered
                if tells:
                    _note(garden, store, hour.end, watered)
        store.readings.write(batch)
        lived.litres[day] = {
            name: butt.as_declared.volume_l(butt.depth_m)
            for name, butt in world.rainwater.butts.items()
        }
        day += timedelta(days=1)
    return lived


def _note(garden: Garden, store: Store, at: datetime, entries: list[dict[str, Any]]) -> None:
    for raw in entries:
        store.journal.append(parse_entry(raw, garden, at, ()), at)
