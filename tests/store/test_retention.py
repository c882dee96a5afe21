"""Old readings become hours, and every question about them has the same answer as before."""

from __future__ import annotations

import random
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest
from sqlalchemy import func, select
from tests.gardens import AIR, GAUGE, level_probe, make_garden

from steepwell.clock import to_ms
from steepwell.outlook.observed import observe
from steepwell.store.arrivals import Batch
from steepwell.store.readings import Reading
from steepwell.store.rises import HOUR_MS
from steepwell.store.store import open_store
from steepwell.store.tables import reading

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from steepwell.garden.garden import Garden
    from steepwell.store.rows import Row
    from steepwell.store.store import Store

START = datetime(2030, 3, 1, tzinfo=UTC)
DAYS = 3
NOW = START + timedelta(days=DAYS)
UNTIL = START + timedelta(days=1, hours=5, minutes=17)
HOUR = timedelta(hours=1)
QUARTER_MS = 15 * 60 * 1000
PASS, SUSPECT, FAIL = 1, 3, 4
TIPS = {**GAUGE, "tip": "0.2 mm", "counts": "tips since start", "heavy_rain_corrected": True}


@pytest.fixture
def garden(tmp_path: Path) -> Garden:
    return make_garden(tmp_path, zone="Europe/London", sensor=[TIPS, AIR, level_probe("north")])


@pytest.fixture
def store(garden: Garden, store_url: str) -> Iterator[Store]:
    with open_store(store_url, garden) as opened:
        yield opened


def series(store: Store) -> list[Row]:
    """Return three days of a gauge that starts anew twice, a thermometer and a probe."""
    rng = random.Random(1)  # noqa: S311 - nothing secret
    rows: list[Row] = []
    ids = store.readings.ids
    count = 0
    for step in range(DAYS * 96):
        at = to_ms(START) + step * QUARTER_MS + rng.randrange(60_000)
        if step in {60, 200}:
            count = 0
        count += rng.choice((0, 0, 0, 0, 0, 0, 1, 4, 9))
        rows.append((at, ids["gauge"], count * 0.2, PASS, None))
        flag = rng.choice((PASS, PASS, PASS, 2, SUSPECT, FAIL))
        reason = "odd" if flag > 2 else None
        rows.append((at + 1, ids["shade"], rng.uniform(2, 19), flag, reason))
        if rng.random() < 0.7 and not 70 < step < 130:
            rows.append((at + 2, ids["north-level"], rng.uniform(20, 190), PASS, None))
    return rows


def put(store: Store, rows: list[Row]) -> None:
    store.readings.write(Batch(timed=rows, origins=[(row[0], "t", b"") for row in rows]))


def answers(garden: Garden, store: Store) -> dict[str, Any]:
    """Return what is asked about readings by those who look back."""
    readings = store.readings
    evenings = [START + timedelta(days=day) for day in range(-1, DAYS + 1)]
    everything = START - timedelta(days=3), NOW
    observed = observe(garden, store, None, [], first=date(2030, 3, 1), now=NOW)
    return {
        "hourly": readings.hourly(["shade", "north-level"], *everything),
        "rise": readings.hourly_rise("gauge", *everything),
        "rise of a day": readings.hourly_rise("gauge", START, START + timedelta(days=1)),
        "rise over the edge": readings.hourly_rise("gauge", START + 20 * HOUR, START + 40 * HOUR),
        "most": sorted(readings.daily_most(["shade", "north-level"], *everything)),
        "evenings": readings.last_good_at("north-level", evenings),
        "last": [readings.last_good(name, NOW) for name in readings.ids],
        "before": [readings.last_good("gauge", START + timedelta(days=1))],
        "first": [readings.first_good(name, NOW) for name in readings.ids],
        "latest": readings.latest(NOW),
        "heard": readings.last_heard(NOW),
        "rain by day": observed.rain_mm.tolist(),
        "coldest by day": observed.tmin_c.tolist(),
        "warmest by day": observed.tmax_c.tolist(),
        "hours with rain": observed.hour_rain_mm.tolist(),
    }


def same(before: dict[str, Any], after: dict[str, Any]) -> None:
    for asked, answer in before.items():
        assert flat(after[asked]) == pytest.approx(flat(answer), nan_ok=True), asked


def flat(answer: Any) -> dict[str, float]:  # noqa: ANN401 - whatever was asked
    """Return every number of an answer under its place, which times and names are part of."""
    numbers: dict[str, float] = {}
    for place, item in enumerate(answer.values() if isinstance(answer, dict) else answer):
        if isinstance(item, float):
            numbers[str(place)] = item
        elif isinstance(item, Reading):
            # The last value of an hour is kept, without the word that it was not judged.
            numbers[f"{item.sensor} {item.time_ms}"] = item.value
        elif isinstance(item, tuple):
            where = [str(part) for part in item if not isinstance(part, float)]
            numbers |= {
                f"{where} {part}": number
                for part, number in enumerate(item)
                if isinstance(number, float)
            }
        else:
            numbers[f"{place} {item}"] = 0.0
    return numbers


def test_who_looks_back_gets_the_same_answer(garden: Garden, store: Store) -> None:
    put(store, series(store))
    before = answers(garden, store)
    assert store.retention.compact(UNTIL, most_hours=10_000)
    same(before, answers(garden, store))
    # And again when more of it is old.
    assert store.retention.compact(UNTIL + timedelta(days=1), most_hours=10_000)
    same(before, answers(garden, store))
    until_ms = to_ms(UNTIL + timedelta(days=1)) // HOUR_MS * HOUR_MS
    with store._database.reading() as connection:
        left = connection.execute(
            select(func.count()).where(reading.c.time_ms < until_ms)
        ).scalar_one()
    # One reading of each sensor stays, from which its counter goes on.
    assert left == len(store.readings.ids)


def test_it_goes_on_where_it_stopped(garden: Garden, store: Store) -> None:
    put(store, series(store))
    before = answers(garden, store)
    assert not store.retention.compact(UNTIL, most_hours=20)
    same(before, answers(garden, store))
    assert store.retention.compact(UNTIL, most_hours=10_000)
    same(before, answers(garden, store))
    assert store.retention.compact(UNTIL, most_hours=1)


def test_young_readings_are_left_alone(store: Store) -> None:
    ids = store.readings.ids
    put(store, [(to_ms(START), ids["shade"], 4.0, PASS, None)])
    assert store.retention.compact(START, most_hours=10)
    assert store.ledger.last("compacted") is None
    assert store.readings.first_good("shade", NOW) == START


def test_what_comes_late_joins_its_hour(store: Store) -> None:
    ids = store.readings.ids
    hour_ms = to_ms(START)
    put(store, [(hour_ms + ms, ids["shade"], value, PASS, None) for ms, value in ((1, 4), (2, 6))])
    put(store, [(to_ms(NOW), ids["shade"], 9.0, PASS, None)])
    assert store.retention.compact(UNTIL, most_hours=10)
    put(store, [(hour_ms + ms, ids["shade"], value, PASS, None) for ms, value in ((5, 1), (6, 9))])
    assert store.retention.compact(UNTIL, most_hours=10)
    (fact,) = store.readings.hourly(["shade"], START, START + HOUR)
    assert (fact.least, fact.most, fact.mean) == (1.0, 9.0, 5.0)
    found = store.readings.last_good("shade", START + HOUR)
    assert found is not None
    assert (found.time_ms, found.value) == (hour_ms + 6, 9.0)


def test_a_sensor_that_fell_silent_long_ago_keeps_its_last_reading(store: Store) -> None:
    ids = store.readings.ids
    rows = [(to_ms(START) + n, ids["north-level"], 50.0 + n, PASS, None) for n in range(3)]
    bad = (to_ms(START) + 9, ids["north-level"], 900.0, FAIL, "beyond the brim")
    put(store, [*rows, bad])
    assert store.retention.compact(UNTIL, most_hours=10)
    assert store.readings.latest(NOW)["north-level"].value == 900.0
    last = store.readings.last_good("north-level", NOW)
    assert last is not None
    assert last.value == 52.0
    assert store.retention.compact(UNTIL, most_hours=10)
    (fact,) = store.readings.hourly(["north-level"], START, NOW)
    assert (fact.least, fact.most) == (50.0, 52.0)
