"""Simulated hardware against any broker, in real time or speeded up."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date, datetime, timedelta
from time import monotonic
from typing import TYPE_CHECKING

from steepwell.errors import WeatherRecordError
from steepwell_sim.devices.faults import Faults
from steepwell_sim.devices.fleet import Fleet
from steepwell_sim.devices.timing import live_through
from steepwell_sim.network import Network
from steepwell_sim.start import world_on
from steepwell_sim.weather.hours import hours_of_day

if TYPE_CHECKING:
    from threading import Event

    from steepwell.garden.garden import Garden
    from steepwell_sim.devices.fault_script import Fault
    from steepwell_sim.weather.record import Day, Record

Told = Callable[[datetime, int], None]


def moved_to(record: Record, day: date) -> dict[date, Day]:
    """Return a record moved by whole years so that it holds a day, its latest years first.

    Parameters
    ----------
    record
        Daily weather of some other years.
    day
        The day wanted.

    Returns
    -------
    dict
        The same weather under other years; 29 February is left out or is like the 28th.

    Raises
    ------
    WeatherRecordError
        If it holds no such day of the year.
    """
    years = sorted({when.year for when in record}, reverse=True)
    for year in years:
        try:
            source = day.replace(year=year)
        except ValueError:
            source = date(year, 2, 28)
        if source in record:
            return _move(record, day.year - year)
    raise WeatherRecordError(
        f"The weather file has no {day.day} {day:%B} in any year; give one that has whole years."
    )


def _move(record: Record, years: int) -> dict[date, Day]:
    moved: dict[date, Day] = {}
    for when, weather in record.items():
        leap_day = (when.month, when.day) == (2, 29)
        target_year = when.year + years
        if not leap_day:
            moved[when.replace(year=target_year)] = weather
        following = date(target_year, 2, 28) + timedelta(days=1)
        if (leap_day or (when.month, when.day) == (2, 28)) and following.month == 2:  # noqa: PLR2004 - February
            moved[following] = weather
    return dict(sorted(moved.items()))


def run_devices(
    garden: Garden,
    weather: Record,
    *,
    host: str,
    port: int,
    start: datetime,
    speed: float,
    every_minutes: int,
    seed: int,
    faults: Sequence[Fault] = (),
    ended: Event,
    told: Told,
) -> None:
    """Let the devices report until the event is set or the weather ends.

    Parameters
    ----------
    garden
        Declares the sensors.
    weather
        Daily weather that holds the day of ``start``.
    host, port
        The broker.
    start
        The moment the devices live in at first; the first report is made at once.
    speed
        How many times faster than the clock on the wall their time runs.
    every_minutes
        Between two reports of a device [min of their time].
    seed
        Draws the true garden, the hours of rain and the noise.
    faults
        What goes wrong with devices and garden.
    ended
        Set to end it.
    told
        Called with time and number of messages after each report.

    Raises
    ------
    BrokerError
        If the broker does not answer at first; later the devices try again for themselves.
    """
    zone = garden.garden.zone
    today = start.astimezone(zone).date()
    world = world_on(garden, weather, today, last=max(weather), seed=seed)
    pace = _Pace(start, speed, ended)
    network = Network(host, port)
    wrong = Faults(faults, garden, start, seed)
    fleet = Fleet(garden, world, seed, wrong)
    for client_id in fleet.client_ids:
        network.add(client_id)

    def report(moment: datetime) -> None:
        messages = fleet.messages(moment)
        network.send(messages)
        for client_id in fleet.hanging_up(moment):
            network.hang_up(client_id)
        told(moment, len(messages))

    with network:
        report(start)
        while today in weather:
            hours = hours_of_day(weather, today, garden.garden, seed)
            world.begin_day(hours[0].start)
            for hour in hours:
                wrong.befall(world, hour.start)
                for moment in live_through(world, hour, every_minutes, zone):
                    if moment <= start:
                        continue
                    if pace.ended_before(moment):
                        return
                    report(moment)
            today += timedelta(days=1)


class _Pace:
    """Keeps the devices' time in step with the clock on the wall."""

    def __init__(self, start: datetime, speed: float, ended: Event) -> None:
        self._start = start
        self._speed = speed
        self._ended = ended
        self._began = monotonic()

    def ended_before(self, moment: datetime) -> bool:
        """Wait until the devices' time is there; return whether it was ended before."""
        due_s = (moment - self._start).total_seconds() / self._speed
        return self._ended.wait(max(0.0, due_s - (monotonic() - self._began)))
