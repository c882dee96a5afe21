"""A simulated garden that lives day by day, is watched, and can be forked with a fault in it."""

from __future__ import annotations

import copy
import random
import tempfile
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Self

from steepwell.clock import to_ms
from steepwell.garden.days import midnight
from steepwell.garden.load import load_garden
from steepwell.garden.weather import WeatherRecord
from steepwell.sense.convert import NOT_EVALUATED, PASS, converter
from steepwell.store.arrivals import Batch
from steepwell.store.entries import parse_entry
from steepwell.store.sqlite import back_up
from steepwell.store.store import open_store
from steepwell.watch.finding import events_of
from steepwell.watch.judging import Judge
from steepwell.watch.kinds import FAULTS
from steepwell.watch.water_faults import water_faults
from steepwell_sim.devices.instruments import Instrument
from steepwell_sim.gardener.gardener import Gardener
from steepwell_sim.gardener.notes import EVENING
from steepwell_sim.start import world_on
from steepwell_sim.weather.hours import hours_of_day
from steepwell_sim.weather.record import read_record

if TYPE_CHECKING:
    from types import TracebackType

    from steepwell.garden.garden import Garden
    from steepwell.sense.convert import Converter
    from steepwell.store.notices import NoticeEvent
    from steepwell.store.store import Store
    from steepwell_sim.devices.value_faults import ValueFault
    from steepwell_sim.weather.record import Record
    from steepwell_sim.world.world import World

# When the daily job looks, local time.
LOOKS_AT = timedelta(hours=6, minutes=30)
# A gardener notes nine waterings of ten.
NOTES = 0.9


@dataclass
class Living:
    """What lives on, and is copied when a garden forks."""

    world: World
    gardener: Gardener
    instruments: list[Instrument]
    forgets: random.Random
    day: date


@dataclass
class GardenYear:
    """A garden, its true state and its store.

    Attributes
    ----------
    garden, weather, seed
        What it is made of.
    living
        The true garden.
    folder
        Where the store is.
    told
        All notices so far.
    drawn_on
        Days on which the gardener truly watered.
    faults
        Of probes, by name of the sensor.
    convert
        From what each sensor says to base units.
    """

    garden: Garden
    weather: Record
    seed: int
    living: Living
    folder: tempfile.TemporaryDirectory[str]
    store: Store
    judge: Judge
    told: list[NoticeEvent] = field(default_factory=list)
    drawn_on: set[date] = field(default_factory=set)
    faults: dict[str, ValueFault] = field(default_factory=dict)
    convert: dict[str, Converter] = field(init=False)

    def __post_init__(self) -> None:
        """Make the converters once."""
        self.convert = {
            sensor.name: converter(sensor, self.garden) for sensor in self.garden.sensor
        }

    @classmethod
    def begin(cls, file: Path, record: Path, first: date, last: date, *, seed: int) -> GardenYear:
        """Return a garden on the morning of its first day."""
        weather = read_record(record)
        known = WeatherRecord(daily=record)
        garden = load_garden(file).model_copy(update={"weather_record": known})
        world = world_on(garden, weather, first, last=last, seed=seed)
        living = Living(
            world,
            Gardener(world, habit="weekly"),
            [Instrument(sensor, world, seed) for sensor in garden.sensor],
            random.Random(f"{seed} forgets"),  # noqa: S311 - a simulation
            first,
        )
        return cls._open(garden, weather, seed, living, _folder())

    @classmethod
    def _open(
        cls,
        garden: Garden,
        weather: Record,
        seed: int,
        living: Living,
        folder: tempfile.TemporaryDirectory[str],
    ) -> GardenYear:
        store = open_store(f"sqlite:///{folder.name}/year.db", garden)
        return cls(garden, weather, seed, living, folder, store, Judge(garden, store))

    def fork(self) -> GardenYear:
        """Return a garden that is the same up to now, and may go on otherwise."""
        folder = _folder()
        back_up(Path(self.folder.name, "year.db"), Path(folder.name, "year.db"))
        # What was declared and the weather are not copied.
        same = {id(part): part for part in (self.garden, self.weather)}
        living = copy.deepcopy(self.living, same)
        return self._open(self.garden, self.weather, self.seed, living, folder)

    def __enter__(self) -> Self:
        """Use it."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Throw its store away."""
        self.store.close()
        self.folder.cleanup()

    def live_a_day(self) -> list[NoticeEvent]:
        """Live a day and look at it on the next morning; return what was told."""
        living = self.living
        batch = Batch()
        hours = hours_of_day(self.weather, living.day, self.garden.garden, self.seed)
        living.world.begin_day(hours[0].start)
        for hour in hours:
            living.world.pass_hour(hour)
            self._measure(hour.end, batch)
            if hour.end.astimezone(self.garden.garden.zone).time() == EVENING:
                self._water(hour.end)
        self.store.readings.write(batch)
        living.day += timedelta(days=1)
        return self._look(midnight(self.garden, living.day) + LOOKS_AT)

    def _measure(self, at: datetime, batch: Batch) -> None:
        for instrument in self.living.instruments:
            figure = instrument.measure()
            fault = self.faults.get(instrument.sensor.name)
            if fault is not None:
                figure = fault.twist(figure, at)
            number = self.store.readings.ids[instrument.sensor.name]
            value, flag, reason = self.convert[instrument.sensor.name](figure.value, figure.unit)
            flag = NOT_EVALUATED if flag == PASS and reason is None else flag
            batch.timed.append((to_ms(at), number, value, flag, reason))
            batch.origins.append((to_ms(at), "", b""))

    def _water(self, at: datetime) -> None:
        watered = self.living.gardener.water(at)
        if watered:
            self.drawn_on.add(self.living.day)
        if self.living.forgets.random() < NOTES:
            for raw in watered:
                self.store.journal.append(parse_entry(raw, self.garden, at, ()), at)

    def _look(self, now: datetime) -> list[NoticeEvent]:
        self.judge.judge(now)
        findings = water_faults(self.garden, self.store, self.store.journal.entries(now), now)
        events = events_of(findings, self.store.notices.standing(), FAULTS, now)
        self.store.notices.record(events)
        self.told += events
        return events


def _folder() -> tempfile.TemporaryDirectory[str]:
    memory = Path("/dev/shm")  # noqa: S108 - a fresh folder with a name of its own
    return tempfile.TemporaryDirectory(
        prefix="steepwell-faults-", dir=memory if memory.is_dir() else None
    )
