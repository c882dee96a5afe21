"""Which forecast is kept, which is refused, and how long one is good for."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from tests.gardens import make_garden

from steepwell.sense.forecasts import latest_forecast, take_forecast
from steepwell.store.store import garden_store_url, open_store

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from steepwell.garden.garden import Garden
    from steepwell.sense.forecast import ForecastDays
    from steepwell.store.store import Store

TOPIC = "plum-lane/forecast"
FORECAST = {"topic": TOPIC, "date": "/day", "rain": "/rain", "tmin": "/low", "tmax": "/high"}
# In London it is already 2 June.
NOW = datetime(2031, 6, 1, 23, 30, tzinfo=UTC)
DAY = timedelta(days=1)


def days(first: date, *rain_mm: float) -> bytes:
    listed = [(first + n * DAY).isoformat() for n in range(len(rain_mm))]
    lows, highs = [10] * len(rain_mm), [20] * len(rain_mm)
    return json.dumps({"day": listed, "rain": rain_mm, "low": lows, "high": highs}).encode()


@pytest.fixture
def garden(tmp_path: Path) -> Garden:
    return make_garden(tmp_path, zone="Europe/London", forecast=FORECAST)


@pytest.fixture
def store(garden: Garden) -> Iterator[Store]:
    with open_store(garden_store_url(garden), garden) as store:
        yield store


def rain_of(forecast: ForecastDays | None) -> tuple[date, list[float]] | None:
    if forecast is None:
        return None
    return forecast.issued, [day.rain_mm for day in forecast.days]


def test_a_forecast_is_kept_from_the_local_day_on_which_it_came(
    garden: Garden, store: Store
) -> None:
    take_forecast(garden, store, days(date(2031, 6, 1), 1, 2, 3), where=TOPIC, now=NOW)
    assert rain_of(latest_forecast(garden, store, NOW)) == (date(2031, 6, 2), [2.0, 3.0])
    assert store.refused.count(NOW) == 0


def test_a_forecast_counts_while_one_of_its_days_is_to_come(garden: Garden, store: Store) -> None:
    take_forecast(garden, store, days(date(2031, 6, 2), 1, 2), where=TOPIC, now=NOW)
    assert latest_forecast(garden, store, NOW - DAY) is None
    assert latest_forecast(garden, store, NOW + DAY) is not None
    assert latest_forecast(garden, store, NOW + 2 * DAY) is None


def test_the_same_message_again_is_no_newer_forecast(garden: Garden, store: Store) -> None:
    said = days(date(2031, 6, 2), 1, 2, 3)
    for later in (0, 1, 5):
        take_forecast(garden, store, said, where=TOPIC, now=NOW + later * DAY)
    assert rain_of(latest_forecast(garden, store, NOW + DAY)) == (date(2031, 6, 2), [1, 2, 3])
    # Nor is it refused for being over.
    assert store.refused.count(NOW + 5 * DAY) == 0
    changed = days(date(2031, 6, 2), 1, 2, 4)
    take_forecast(garden, store, changed, where=TOPIC, now=NOW + DAY)
    assert rain_of(latest_forecast(garden, store, NOW + DAY)) == (date(2031, 6, 3), [2, 4])


def test_what_is_no_forecast_is_refused_with_the_reason(garden: Garden, store: Store) -> None:
    take_forecast(garden, store, days(date(2031, 6, 2), 1, 2), where=TOPIC, now=NOW)
    take_forecast(garden, store, days(date(2031, 6, 2), 1, -2), where=TOPIC, now=NOW)
    (refused,) = store.refused.newest(9)
    assert refused.topic == TOPIC
    assert refused.reason == "-2 mm of rain on 2031-06-03 cannot be; wanted 0 to 500"
    # The one before stands.
    assert rain_of(latest_forecast(garden, store, NOW)) == (date(2031, 6, 2), [1.0, 2.0])


def test_a_garden_that_names_no_forecast_any_more_uses_none(garden: Garden, store: Store) -> None:
    take_forecast(garden, store, days(date(2031, 6, 2), 1, 2), where=TOPIC, now=NOW)
    without = garden.model_copy(update={"forecast": None})
    assert latest_forecast(without, store, NOW) is None
