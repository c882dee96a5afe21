from __future__ import annotations

import json
from datetime import UTC, date, datetime, timedelta
from threading import Event, Thread
from typing import TYPE_CHECKING, Any

import pytest

from steepwell.errors import WeatherRecordError
from steepwell_sim.devices.fault_script import Fault
from steepwell_sim.live import moved_to, run_devices
from steepwell_sim.network import Network
from steepwell_sim.weather.record import Day

if TYPE_CHECKING:
    from collections.abc import Callable

    from steepwell.garden.garden import Garden
    from steepwell_sim.broker import RunningBroker


def test_speeded_up_devices_report_on_time_until_they_are_ended(
    garden: Garden, dry_year: dict[date, Day], broker: RunningBroker, ear: Callable[..., Any]
) -> None:
    start = datetime(2031, 6, 1, 12, 10, tzinfo=UTC)
    ended = Event()
    reports: list[datetime] = []

    def told(moment: datetime, messages: int) -> None:
        assert messages == 3
        reports.append(moment)
        if len(reports) == 40:
            ended.set()

    network = Network(broker.host, broker.port)
    hearing = ear(network, "plot/gauge")
    with network:
        run_devices(
            garden,
            dry_year,
            host=broker.host,
            port=broker.port,
            start=start,
            speed=10_000_000.0,
            every_minutes=30,
            seed=1,
            ended=ended,
            told=told,
        )
        assert b"1938082200" in hearing.next()[1]  # 12:10 on 1 June 2031
    on_the_half_hour = datetime(2031, 6, 1, 12, 30, tzinfo=UTC)
    assert reports == [
        start,
        *(on_the_half_hour + timedelta(minutes=30 * step) for step in range(39)),
    ]


def test_a_device_that_loses_its_connection_comes_back(
    garden: Garden, dry_year: dict[date, Day], broker: RunningBroker, ear: Callable[..., Any]
) -> None:
    ended = Event()
    network = Network(broker.host, broker.port)
    hearing = ear(network, "plot/gauge")
    heard: set[int] = set()
    expected = {1938081600 + 3600 * at for at in range(4)}
    with network:
        devices = Thread(
            target=run_devices,
            args=(garden, dry_year),
            kwargs={
                "host": broker.host,
                "port": broker.port,
                "start": datetime(2031, 6, 1, 12, tzinfo=UTC),
                "speed": 3600.0,
                "every_minutes": 60,
                "seed": 1,
                "faults": [Fault(kind="reconnect", sensor="gauge", for_h=2)],
                "ended": ended,
                "told": lambda *_: None,
            },
        )
        devices.start()
        # It hangs up twice; what it says meanwhile is said when it is back, perhaps twice.
        while not expected <= heard:
            heard.add(json.loads(hearing.next()[1])[0]["bt"])
        ended.set()
        devices.join()


def test_devices_stop_where_the_weather_ends(garden: Garden, broker: RunningBroker) -> None:
    reports: list[datetime] = []
    run_devices(
        garden,
        {date(2031, 6, 1): Day(0.0, 8.0, 20.0)},
        host=broker.host,
        port=broker.port,
        start=datetime(2031, 6, 1, 12, tzinfo=UTC),
        speed=10_000_000.0,
        every_minutes=60,
        seed=1,
        ended=Event(),
        told=lambda moment, _: reports.append(moment),
    )
    assert reports[-1] == datetime(2031, 6, 1, 23, tzinfo=UTC)  # midnight in London


def test_a_record_is_moved_to_this_year() -> None:
    old = {date(1976, 2, 28): Day(1, 0, 5), date(1976, 2, 29): Day(2, 0, 5)}
    old |= {date(1976, 6, 1): Day(3, 8, 20), date(1975, 6, 1): Day(4, 8, 20)}
    assert moved_to(old, date(2031, 6, 1)) == {
        date(2030, 6, 1): Day(4, 8, 20),
        date(2031, 2, 28): Day(1, 0, 5),
        date(2031, 6, 1): Day(3, 8, 20),
    }
    with pytest.raises(WeatherRecordError, match="no 2 June"):
        moved_to(old, date(2031, 6, 2))


def test_a_leap_day_is_made_of_the_day_before_where_the_record_has_none() -> None:
    moved = moved_to({date(1975, 2, 28): Day(1, 0, 5)}, date(2032, 2, 29))
    assert moved == {date(2032, 2, 28): Day(1, 0, 5), date(2032, 2, 29): Day(1, 0, 5)}
