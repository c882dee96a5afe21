from __future__ import annotations

import random
from datetime import UTC, datetime, timedelta
from itertools import groupby
from statistics import fmean
from typing import TYPE_CHECKING

import pytest

from steepwell.clock import to_ms
from steepwell.store.arrivals import Batch
from steepwell.store.readings import HOUR_MS, HourFact

if TYPE_CHECKING:
    from steepwell.store.rows import Row
    from steepwell.store.store import Store

START = datetime(2031, 6, 1, tzinfo=UTC)
GAUGE, LEEK = 1, 2


def at(hours: float) -> datetime:
    return START + timedelta(hours=hours)


def write(
    store: Store, sensor: int, *points: tuple[float, float] | tuple[float, float, int]
) -> None:
    rows: list[Row] = [
        (to_ms(at(hours)), sensor, value, flag[0] if flag else 1, None)
        for hours, value, *flag in points
    ]
    store.readings.write(Batch(timed=rows, origins=[(0, "", b"")] * len(rows)))


def test_the_sensors_of_the_garden_are_numbered(store: Store) -> None:
    assert store.readings.ids == {"gauge": GAUGE, "leek-probe": LEEK}


def test_the_newest_reading_is_that_at_or_before_now(store: Store) -> None:
    write(store, LEEK, (1, 14.0), (2, 15.0, 4), (3, 16.0))
    write(store, GAUGE, (0.5, 2.0))
    newest = store.readings.latest(at(2))
    assert (newest["leek-probe"].value, newest["leek-probe"].flag) == (15.0, 4)
    assert newest["gauge"].time_ms == to_ms(at(0.5))
    assert store.readings.latest(at(9))["leek-probe"].value == 16.0
    assert store.readings.latest(at(0)) == {}


def test_the_last_good_reading_passes_over_failed_ones(store: Store) -> None:
    write(store, LEEK, (1, 14.0), (2, 14.5, 2), (3, 99.0, 4), (4, 15.0, 3))
    found = store.readings.last_good("leek-probe", at(9))
    assert found is not None
    assert (found.value, found.flag) == (14.5, 2)
    assert store.readings.last_good("leek-probe", at(0)) is None
    assert store.readings.last_good("gauge", at(9)) is None
    assert store.readings.last_good("no-such-sensor", at(9)) is None


def test_the_last_good_readings_before_several_moments(store: Store) -> None:
    write(store, LEEK, (1, 14.0), (2, 14.5, 2), (3, 99.0, 4), (5, 16.0))
    hours = [9, 0, 4, 2, 1.5, 9]
    asked = [("leek-probe", at(hour)) for hour in hours]
    asked += [("gauge", at(9)), ("no-such-sensor", at(9))]
    found = store.readings.last_good_of_each(asked)
    values = [None if reading is None else reading.value for reading in found]
    assert values == [16.0, None, 14.5, 14.5, 14.0, 16.0, None, None]
    assert store.readings.last_good_of_each([]) == []
    assert store.readings.last_good_at("leek-probe", [at(9), at(2)]) == [found[0], found[3]]


def test_of_a_sensor_that_has_failed_since_all_later_moments_have_the_same(store: Store) -> None:
    write(store, LEEK, (1, 14.0), (2, 99.0, 4), (3, 99.0, 4), (4, 15.0, 3), (5, 99.0, 4))
    moments = [at(hour) for hour in (0, 1, 2, 4, 9)]
    good = store.readings.last_good_at("leek-probe", moments)
    assert [each and each.value for each in good] == [None, 14.0, 14.0, 14.0, 14.0]
    asked = [("leek-probe", moment) for moment in moments]
    doubted = store.readings.last_good_of_each(asked, or_doubted=True)
    assert [each and each.value for each in doubted] == [None, 14.0, 14.0, 15.0, 15.0]


def test_a_reading_keeps_its_reason(store: Store) -> None:
    row = (to_ms(at(1)), LEEK, 99.0, 4, "99 °C is outside -40 to 80 °C")
    store.readings.write(Batch(timed=[row], origins=[(0, "", b"")]))
    assert store.readings.latest(at(2))["leek-probe"].reason == "99 °C is outside -40 to 80 °C"


def test_an_hour_is_told_by_its_good_readings(store: Store) -> None:
    write(store, LEEK, (0.1, 14.0), (0.9, 12.0), (0.5, 16.0), (0.6, 80.0, 4), (2.0, 9.0))
    facts = store.readings.hourly(["leek-probe", "gauge"], START, at(2))
    assert facts == [HourFact("leek-probe", to_ms(START), least=12.0, most=16.0, mean=14.0)]


def test_hours_agree_with_counting_one_by_one(store: Store) -> None:
    draw = random.Random(11)  # noqa: S311 - a seeded draw, no secret
    points = sorted(
        {round(draw.uniform(0, 48), 4): draw.uniform(-5, 30) for _ in range(300)}.items()
    )
    write(store, LEEK, *points)
    expected = []
    for hour, group in groupby(points, key=lambda point: int(point[0])):
        values = [value for _, value in group]
        expected.append((to_ms(at(hour)), min(values), max(values)))
    facts = store.readings.hourly(["leek-probe"], START, at(48))
    assert [(f.hour_ms, f.least, f.most) for f in facts] == expected
    mean = fmean(value for hours, value in points if hours < 1)
    assert facts[0].mean == pytest.approx(mean)


@pytest.mark.parametrize(
    ("points", "rises"),
    [
        ([(0.5, 10.0), (1.5, 10.4), (1.9, 11.0), (3.5, 11.2)], [(0, 0.0), (1, 1.0), (3, 0.2)]),
        ([(-5.0, 9.0), (0.5, 10.0)], [(0, 1.0)]),
        ([(0.2, 10.0), (0.4, 0.6), (0.6, 0.8)], [(0, 0.8)]),
        ([(0.2, 10.0), (0.4, 99.0, 4), (0.6, 10.2)], [(0, 0.2)]),
        ([(0.2, 10.0), (0.6, 10.0), (5.0, 30.0)], [(0, 0.0)]),
        ([], []),
    ],
    ids=["rain", "since before", "restart", "failed left out", "end left out", "nothing"],
)
def test_a_counter_rises_in_the_hour_of_the_later_reading(
    store: Store, points: list[tuple[float, float]], rises: list[tuple[int, float]]
) -> None:
    # In the order of arrival, which is not that of time.
    write(store, GAUGE, *reversed(points))
    write(store, LEEK, (0.3, 14.0), (1.0, 15.0))
    found = store.readings.hourly_rise("gauge", START, at(5))
    assert [hour_ms for hour_ms, _ in found] == [to_ms(START) + hour * HOUR_MS for hour, _ in rises]
    assert [mm for _, mm in found] == pytest.approx([mm for _, mm in rises])


def test_a_sensor_that_is_not_in_the_store_has_no_hours(store: Store) -> None:
    assert store.readings.hourly_rise("no-such-sensor", START, at(5)) == []
    assert store.readings.hourly(["no-such-sensor"], START, at(5)) == []


def test_the_newest_times_know_nothing_of_silent_sensors(store: Store) -> None:
    assert store.readings.newest_times() == {}
    assert store.readings.newest_passed() == 0
    write(store, LEEK, (3, 14.0), (1, 13.0), (5, 99.0, 4))
    assert store.readings.newest_times() == {LEEK: to_ms(at(5))}
    assert store.readings.newest_passed() == to_ms(at(3))
