"""What a replay is asked to do, and the garden it is done with."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from steepwell.errors import CommandError, WeatherRecordError
from steepwell.garden.site import Broker, StorePlace
from steepwell.garden.weather import WeatherRecord
from steepwell_sim.devices.timing import check_interval
from steepwell_sim.weather.record import Record, without_years, write_record

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    from steepwell.garden.garden import Garden
    from steepwell_sim.broker import RunningBroker
    from steepwell_sim.gardener.habits import Habit


@dataclass(frozen=True, slots=True)
class Place:
    """Where the garden is instead: degrees, degrees, metres above the sea."""

    latitude: float
    longitude: float
    elevation_m: float


@dataclass(frozen=True, slots=True)
class Options:
    """What a replay is asked to do.

    Attributes
    ----------
    garden
        The garden file.
    weather
        Daily record that holds the days replayed.
    first, last
        Those days, both in it.
    out
        Folder for what comes of it.
    habit
        How the gardener waters.
    journal
        File with what is done beside watering; None for the filling of each vessel on 1 May.
    seed
        Draws the true garden, the hours of rain, the noise, and the outlooks.
    outlook_every_days
        How often the daemon makes an outlook [d].
    every_minutes
        How often the sensors report [min].
    record
        The weather record the daemon knows; None for the weather without the years replayed.
    place
        Where the garden is instead; None for where its file says.
    faults
        File with what goes wrong, and when; None where nothing does.
    """

    garden: Path
    weather: Path
    first: date
    last: date
    out: Path
    habit: Habit = "weekly"
    journal: Path | None = None
    seed: int = 1
    outlook_every_days: int = 1
    every_minutes: int = 60
    record: Path | None = None
    place: Place | None = None
    faults: Path | None = None


def check(options: Options) -> None:
    """Refuse what cannot be replayed.

    Parameters
    ----------
    options
        What is asked.

    Raises
    ------
    CommandError
        If dates or intervals make no sense.
    """
    if options.last < options.first:
        raise CommandError(f"--to {options.last} is before --from {options.first}; swap them.")
    if options.outlook_every_days < 1:
        raise CommandError("--outlook-every is a number of days, at least 1.")
    check_interval(options.every_minutes)


def record_for_daemon(options: Options, weather: Record) -> Path:
    """Return the record the daemon is to know, written to the folder of results if need be.

    Parameters
    ----------
    options
        What is asked.
    weather
        The daily weather of the garden.

    Returns
    -------
    Path
        Absolute.

    Raises
    ------
    WeatherRecordError
        If nothing is left of the weather without the years replayed.
    """
    if options.record is not None:
        return options.record.resolve()
    years = range(options.first.year, options.last.year + 1)
    other = without_years(weather, years)
    if not other:
        raise WeatherRecordError(
            f"The weather file {options.weather} holds only the years replayed, and the daemon "
            "must not know those. Give it a record of other years with --record."
        )
    path = (options.out / "record.csv").resolve()
    write_record(path, other)
    return path


def replayed_garden(
    garden: Garden, place: Place | None, broker: RunningBroker, store: Path, record: Path
) -> Garden:
    """Return a garden with broker, store, record and place of a replay, and no other outlets.

    Parameters
    ----------
    garden
        As declared.
    place
        Where it is instead, or None.
    broker
        The broker of the replay.
    store
        Absolute path of its store.
    record
        Absolute path of its weather record.

    Returns
    -------
    Garden
        Otherwise the same.
    """
    site = garden.garden
    if place is not None:
        site = site.model_copy(
            update={
                "latitude": place.latitude,
                "longitude": place.longitude,
                "elevation": place.elevation_m,
            }
        )
    return garden.model_copy(
        update={
            "garden": site,
            "broker": Broker(host=broker.host, port=broker.port, protocol=broker.protocol),
            "store": StorePlace(url=f"sqlite:///{store}", backups=False),
            "weather_record": WeatherRecord(daily=record),
            "forecast": None,
            "mirror": None,
            "page": None,
        }
    )
