"""The weather as far as it was observed: by gauge, by hand, by the probe, else from the record."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest
from tests.gardens import AIR, GAUGE, flat_record, hourly, make_garden, note, put_readings

from steepwell.garden.days import midnight
from steepwell.outlook.observed import observe

if TYPE_CHECKING:
    from pathlib import Path

    from tests.gardens import Open

    from steepwell.garden.garden import Garden
    from steepwell.outlook.observed import Observed
    from steepwell.outlook.record import Record
    from steepwell.store.store import Store

FIRST = date(2031, 6, 1)
NOW = datetime(2031, 6, 6, 12, 0, tzinfo=UTC)
HOUR = timedelta(hours=1)
# What is usual, in the record: 2 mm, 10 to 20 °C.
RECORD = flat_record(rain_mm=2.0, tmin_c=10.0, tmax_c=20.0)


def at(day: int, hour: int = 12, minute: int = 0) -> datetime:
    return datetime(2031, 6, day, hour, minute, tzinfo=UTC)


def seen(garden: Garden, store: Store, record: Record | None = RECORD) -> Observed:
    return observe(garden, store, record, store.journal.entries(NOW), first=FIRST, now=NOW)


def test_without_sensors_the_record_tells_what_is_usual(tmp_path: Path, opened: Open) -> None:
    garden = make_garden(tmp_path)
    weather = seen(garden, opened(garden))
    assert weather.first == FIRST
    assert weather.rain_mm.tolist() == [2.0] * 5
    assert weather.tmin_c.tolist() == [10.0] * 5
    assert weather.tmax_c.tolist() == [20.0] * 5
    assert (weather.rain_today_mm, weather.from_record) == (0.0, 5)
    assert weather.mean_c(date(2031, 6, 3)) == 15.0


def test_without_sensors_and_record_nothing_is_known(tmp_path: Path, opened: Open) -> None:
    garden = make_garden(tmp_path)
    weather = seen(garden, opened(garden), record=None)
    assert np.isnan(weather.rain_mm).all()
    assert np.isnan(weather.tmin_c).all()
    assert np.isnan(weather.tmax_c).all()


def test_rain_is_what_the_counter_rose_on_each_local_day(tmp_path: Path, opened: Open) -> None:
    garden = make_garden(tmp_path, zone="Europe/London", sensor=[GAUGE])
    store = opened(garden)
    # In London, 22:30 UTC is still the same day of June, and 23:30 UTC the next.
    counted = {at(1, 0): 100.0, at(2, 22, 30): 103.0, at(2, 23, 30): 107.0, at(4): 107.0}
    put_readings(store, "gauge", {**counted, at(6, 9): 108.5})
    weather = seen(garden, store)
    assert weather.rain_mm.tolist() == [0.0, 3.0, 4.0, 0.0, 0.0]
    assert weather.rain_today_mm == 1.5


def test_rain_before_the_gauge_was_first_heard_is_the_usual(tmp_path: Path, opened: Open) -> None:
    garden = make_garden(tmp_path, sensor=[GAUGE])
    store = opened(garden)
    put_readings(store, "gauge", {at(3): 40.0, at(3, 13): 45.0, at(4): 45.0})
    # 5 June is unheard as yet: what fell comes with the next reading, or is the usual.
    assert seen(garden, store).rain_mm.tolist() == [2.0, 2.0, 5.0, 0.0, 2.0]


def test_rain_while_the_gauge_was_not_heard_counts_once(tmp_path: Path, opened: Open) -> None:
    garden = make_garden(tmp_path, sensor=[GAUGE])
    store = opened(garden)
    put_readings(store, "gauge", {at(1) - 3 * 24 * HOUR: 40.0, at(4): 52.0, at(6, 9): 53.0})
    weather = seen(garden, store)
    assert weather.rain_mm.tolist() == [0.0, 0.0, 0.0, 12.0, 0.0]
    assert weather.rain_today_mm == 1.0


def test_a_gauge_that_started_again_counts_from_nothing(tmp_path: Path, opened: Open) -> None:
    garden = make_garden(tmp_path, sensor=[GAUGE])
    store = opened(garden)
    put_readings(store, "gauge", {at(1): 40.0, at(2): 45.0, at(3): 1.5, at(4): 2.0, at(5): 2.0})
    assert seen(garden, store).rain_mm.tolist() == [0.0, 5.0, 1.5, 0.5, 0.0]


def test_rain_read_by_hand_goes_before_the_gauge_on_its_day(tmp_path: Path, opened: Open) -> None:
    garden = make_garden(tmp_path, sensor=[GAUGE])
    store = opened(garden)
    put_readings(store, "gauge", {at(1, 0): 0.0, at(2): 4.0, at(3): 9.0, at(5): 9.0})
    note(store, garden, at(2, 9), "rain-read", mm=3.0)
    note(store, garden, at(2, 18), "rain-read", mm=3.5)
    assert seen(garden, store).rain_mm.tolist() == [0.0, 6.5, 5.0, 0.0, 0.0]


def test_rain_between_two_readings_by_hand_is_in_the_later_one(
    tmp_path: Path, opened: Open
) -> None:
    garden = make_garden(tmp_path)
    store = opened(garden)
    note(store, garden, at(1), "rain-read", mm=1.0)
    note(store, garden, at(4), "rain-read", mm=11.0)
    assert seen(garden, store).rain_mm.tolist() == [1.0, 0.0, 0.0, 11.0, 2.0]


def test_a_gauge_unread_for_more_than_a_month_tells_of_its_day_only(
    tmp_path: Path, opened: Open
) -> None:
    garden = make_garden(tmp_path)
    store = opened(garden)
    note(store, garden, at(4) - timedelta(days=32), "rain-read", mm=1.0)
    note(store, garden, at(4), "rain-read", mm=11.0)
    assert seen(garden, store).rain_mm.tolist() == [2.0, 2.0, 2.0, 11.0, 2.0]
    note(store, garden, at(4) - timedelta(days=31), "rain-read", mm=1.0)
    assert seen(garden, store).rain_mm.tolist() == [0.0, 0.0, 0.0, 11.0, 2.0]


@pytest.mark.parametrize(("hours", "expected"), [(24, (4.0, 9.0)), (20, (4.0, 9.0))])
def test_a_day_of_twenty_hours_is_that_of_the_probe(
    tmp_path: Path, opened: Open, hours: int, expected: tuple[float, float]
) -> None:
    garden = make_garden(tmp_path, sensor=[AIR])
    store = opened(garden)
    heard = {**hourly(at(3, 0), hours, 6.0), at(3, 4): 4.0, at(3, 15): 9.0}
    put_readings(store, "shade", heard)
    weather = seen(garden, store)
    assert (weather.tmin_c[2], weather.tmax_c[2]) == expected
    assert weather.from_record == 4
    assert weather.mean_c(date(2031, 6, 3)) == 6.5


def test_a_day_of_fewer_hours_is_that_of_the_record(tmp_path: Path, opened: Open) -> None:
    garden = make_garden(tmp_path, sensor=[AIR])
    store = opened(garden)
    put_readings(store, "shade", hourly(at(3, 0), 19, 6.0))
    # Many readings in the same hours do not make a day.
    put_readings(store, "shade", hourly(at(3, 0) + HOUR / 2, 19, 6.0))
    weather = seen(garden, store)
    assert (weather.tmin_c[2], weather.tmax_c[2]) == (10.0, 20.0)
    assert weather.from_record == 5


def test_a_day_of_fewer_hours_is_unknown_without_a_record(tmp_path: Path, opened: Open) -> None:
    garden = make_garden(tmp_path, sensor=[AIR])
    store = opened(garden)
    put_readings(store, "shade", {**hourly(at(3, 0), 24, 6.0), **hourly(at(4, 0), 19, 6.0)})
    known = ~np.isnan(seen(garden, store, record=None).tmin_c)
    assert known.tolist() == [False, False, True, False, False]


def test_today_and_what_is_later_than_now_are_no_extremes(tmp_path: Path, opened: Open) -> None:
    garden = make_garden(tmp_path, sensor=[AIR, GAUGE])
    store = opened(garden)
    put_readings(store, "shade", hourly(at(5, 0), 36, 12.0))
    put_readings(store, "gauge", {at(5): 0.0, at(6, 11): 1.0})
    before = seen(garden, store)
    put_readings(store, "shade", hourly(NOW + HOUR, 36, 40.0))
    put_readings(store, "gauge", {NOW + HOUR: 90.0})
    after = seen(garden, store)
    np.testing.assert_array_equal(after.tmax_c, before.tmax_c)
    assert before.tmax_c[-1] == 12.0
    assert before.rain_today_mm == after.rain_today_mm == 1.0
    # Today is not over, so its mean is that of yesterday.
    assert after.mean_c(date(2031, 6, 6)) == 12.0


@pytest.mark.parametrize(
    ("day", "expected"),
    [
        # The days of the changes of the clocks have 23 and 25 hours.
        (date(2031, 3, 30), datetime(2031, 3, 30, 0, 0, tzinfo=UTC)),
        (date(2031, 3, 31), datetime(2031, 3, 30, 23, 0, tzinfo=UTC)),
        (date(2031, 10, 26), datetime(2031, 10, 25, 23, 0, tzinfo=UTC)),
        (date(2031, 10, 27), datetime(2031, 10, 27, 0, 0, tzinfo=UTC)),
    ],
)
def test_a_day_begins_at_local_midnight(day: date, expected: datetime) -> None:
    assert midnight(make_garden(zone="Europe/London"), day) == expected
