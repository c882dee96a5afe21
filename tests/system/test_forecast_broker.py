"""A forecast that a real broker carries, from the message to the outlook."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from tests.gardens import flat_record, write_record

from steepwell.app import Daemon
from steepwell.clock import ReplayClock
from steepwell.garden.load import load_garden
from steepwell.store.store import garden_store_url, open_store

if TYPE_CHECKING:
    from pathlib import Path

    from tests.system.conftest import Publisher

pytestmark = pytest.mark.mosquitto

WITHIN_S = 30.0
TOPIC = "weather/days"
MORE = """
[weather_record]
daily = "weather.csv"

[[roof]]
name = "shed"
area = "10 m2"
into = "north"

[forecast]
topic = "weather/days"
days = "/ahead"
date = "/on"
rain = "/rain_mm"
tmin = "/low"
tmax = "/high"
"""
LEVEL = '{"kind": "level-read", "butt": "north", "litres": 20}'
NOW = datetime(2031, 6, 1, 6, 0, tzinfo=UTC)


def ahead(rain_mm: float) -> str:
    days = [(NOW + timedelta(days=n)).date().isoformat() for n in range(3)]
    return json.dumps(
        {"ahead": [{"on": day, "rain_mm": rain_mm, "low": 10, "high": 20} for day in days]}
    )


def litres_on_third_day(file: Path, publisher: Publisher, *said: str, retain: bool) -> float:
    """Let the daemon hear forecasts, and return what the butt holds in the middle of futures."""
    daemon = Daemon(load_garden(file), ReplayClock(NOW))
    if retain:
        publisher.say(TOPIC, *said, retain=True)
    daemon.start()
    try:
        assert daemon.wait_connected(WITHIN_S)
        publisher.say("steepwell/quince-yard/journal", LEVEL)
        if not retain:
            publisher.say(TOPIC, *said)
        assert daemon.wait_settled(1 + len(said), WITHIN_S)
        done = {one.job: one for one in daemon.run_due()}
    finally:
        daemon.stop()
    outlook = done["outlook"].outlook
    assert outlook is not None
    middle: float = outlook["butts"][0]["volume_l"]["p50"][2]
    return middle


@pytest.mark.parametrize("retain", [False, True])
def test_a_forecast_of_rain_reaches_the_outlook(
    garden_file: Path, publisher: Publisher, *, retain: bool
) -> None:
    # In the record it never rains, so that 20 L would stay 20 L at best; 15 mm on 10 m² are 150 L.
    write_record(garden_file.with_name("weather.csv"), flat_record())
    garden_file.write_text(garden_file.read_text(encoding="utf-8") + MORE, encoding="utf-8")
    wet = litres_on_third_day(garden_file, publisher, ahead(15), retain=retain)
    assert wet > 100.0


def test_a_forecast_that_cannot_be_is_refused_and_the_last_good_one_stands(
    garden_file: Path, publisher: Publisher
) -> None:
    write_record(garden_file.with_name("weather.csv"), flat_record())
    garden_file.write_text(garden_file.read_text(encoding="utf-8") + MORE, encoding="utf-8")
    said = (ahead(15), ahead(-1), '{"ahead": 3}')
    assert litres_on_third_day(garden_file, publisher, *said, retain=False) > 100.0
    garden = load_garden(garden_file)
    with open_store(garden_store_url(garden), garden, read_only=True) as store:
        reasons = [refused.reason for refused in store.refused.newest(9)]
    assert reasons == [
        "days leads to 3, and should lead to a list",
        "-1 mm of rain on 2031-06-01 cannot be; wanted 0 to 500",
    ]
