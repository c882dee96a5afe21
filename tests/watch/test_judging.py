"""Readings judged among their neighbours, in the store."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest
from sqlalchemy import select
from tests.gardens import (
    AIR,
    GAUGE,
    flat_record,
    level_probe,
    make_garden,
    put_readings,
    vessel_probe,
    write_record,
)

from steepwell.clock import to_ms
from steepwell.outlook.levels import levels_read
from steepwell.store.store import garden_store_url, open_store
from steepwell.store.tables import reading
from steepwell.watch.climate import usual_air_c
from steepwell.watch.judging import Judge

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from steepwell.garden.garden import Garden
    from steepwell.store.store import Store

START = datetime(2031, 6, 10, 0, 0, tzinfo=UTC)
HOUR = timedelta(hours=1)
WAITS = 2


@pytest.fixture
def garden(tmp_path: Path) -> Garden:
    record = write_record(tmp_path / "record.csv", flat_record(tmin_c=8.0, tmax_c=20.0))
    return make_garden(
        tmp_path,
        weather_record={"daily": str(record)},
        roof=[{"name": "shed", "area": "10 m2", "into": "north"}],
        vessel=[{"name": "leek", "volume": "60 L"}],
        sensor=[GAUGE, AIR, level_probe("north"), vessel_probe("leek")],
    )


@pytest.fixture
def store(garden: Garden) -> Iterator[Store]:
    with open_store(garden_store_url(garden), garden) as store:
        yield store


def put(store: Store, sensor: str, values: Sequence[float], *, start: datetime = START) -> datetime:
    """Store a reading an hour that waits to be judged, and return when the last was read."""
    moments = [start + at * HOUR for at in range(len(values))]
    put_readings(store, sensor, dict(zip(moments, values, strict=True)), flag=WAITS)
    return moments[-1]


def found(store: Store, sensor: str) -> list[Any]:
    number = store.readings.ids[sensor]
    question = (
        select(reading.c.flag, reading.c.reason)
        .where(reading.c.sensor == number)
        .order_by(reading.c.time_ms)
    )
    with store._database.reading() as connection:
        return list(connection.execute(question).all())


def flags(store: Store, sensor: str) -> str:
    return "".join(str(flag) for flag, _ in found(store, sensor))


def mild(hours: int, *, base: float = 12.0) -> list[float]:
    """Return temperatures that go up and down a little every hour."""
    return [base + 0.5 * (at % 4) for at in range(hours)]


@pytest.mark.parametrize(
    ("values", "expected", "why"),
    [
        (mild(5), "11112", None),
        # A spike fails alone, and what follows it did not move.
        ([12.0, 12.5, 30.0, 12.5, 12.0], "11412", "a spike: 30.0 °C between 12.5 and 12.5 °C"),
        ([12.0, 12.5, 20.0, 12.5, 12.0], "11312", "a spike: 20.0 °C"),
        # A step that stays is doubted once: an hour moves the air by 12 °C at most.
        ([5.0, 5.5, 18.0, 18.5, 18.0], "11312", "a step to 18.0 °C"),
        # The record of June goes from 8 to 20 °C; 4 °C beyond is doubted.
        ([19.0, 22.0, 24.5, 23.5, 22.0], "11312", "24.5 °C has hardly ever been in this month"),
        ([11.0] * 11 + mild(2), "1" * 8 + "3331" + "2", "11.0 °C without a change since 10 June"),
        ([11.0] * 22 + mild(2), "1" * 8 + "3" * 12 + "4412", "without a change"),
    ],
)
def test_air(
    garden: Garden, store: Store, values: list[float], expected: str, why: str | None
) -> None:
    now = put(store, "shade", values)
    Judge(garden, store).judge(now)
    assert flags(store, "shade") == expected
    reasons = [reason for flag, reason in found(store, "shade") if flag > WAITS]
    assert all(reasons)
    assert why is None or any(why in reason for reason in reasons)


def test_the_newest_waits_for_its_successor(garden: Garden, store: Store) -> None:
    judge = Judge(garden, store)
    judge.judge(put(store, "shade", [12.0, 12.5]))
    assert flags(store, "shade") == "12"
    judge.judge(put(store, "shade", [30.0], start=START + 2 * HOUR))
    assert flags(store, "shade") == "112"
    judge.judge(put(store, "shade", [12.5], start=START + 3 * HOUR))
    assert flags(store, "shade") == "1142"


def test_what_a_device_stored_is_judged_when_it_comes(garden: Garden, store: Store) -> None:
    judge = Judge(garden, store)
    now = put(store, "shade", mild(3), start=START + 72 * HOUR)
    judge.judge(now)
    put(store, "shade", [12.0, 12.5, 30.0, *mild(9)])
    judge.judge(now)
    assert flags(store, "shade") == "114111111111" + "112"


def test_water_without_a_change_while_the_air_moves(garden: Garden, store: Store) -> None:
    put(store, "shade", [8.0 + 4.0 * abs(at % 6 - 3) for at in range(30)])
    now = put(store, "leek-temperature", [14.0] * 30)
    Judge(garden, store).judge(now)
    assert flags(store, "leek-temperature") == "1" * 23 + "3" * 6 + "2"
    reason = found(store, "leek-temperature")[25][1]
    assert "without a change" in reason
    assert "while the air moved" in reason


def test_water_may_stand_still_while_the_air_does(garden: Garden, store: Store) -> None:
    put(store, "shade", mild(30))
    now = put(store, "leek-temperature", [14.0] * 30)
    Judge(garden, store).judge(now)
    assert flags(store, "leek-temperature") == "1" * 29 + "2"


def test_water_warmer_than_any_air(garden: Garden, store: Store) -> None:
    begun = START - timedelta(days=7)
    put(store, "shade", mild(8 * 24, base=14.0), start=begun)
    now = put(store, "leek-temperature", [22.0, 24.0, 25.0, 25.0])
    Judge(garden, store).judge(now)
    # The air was 15.5 °C at most; the sun warms a vessel by up to 9 °C more.
    assert flags(store, "leek-temperature") == "1132"
    assert found(store, "leek-temperature")[2][1] == (
        "water of 25.0 °C, and air of 15.5 °C at most"
    )


@pytest.mark.parametrize(
    ("litres", "rain_mm", "expected"),
    [
        # A watering falls and stays; rain rises and stays.
        ([150.0, 149.0, 110.0, 111.0], [0.0] * 4, "1112"),
        ([110.0, 111.0, 150.0, 149.0], [0.0, 0.2, 5.0, 5.0], "1112"),
        # A drop on the probe's face.
        ([110.0, 111.0, 195.0, 110.0], [0.0] * 4, "1142"),
        ([110.0, 111.0, 133.0, 110.0], [0.0] * 4, "1132"),
        # 10 m2 bring 8 L a mm; a fifth of the butt should have come, and nothing moved.
        ([110.0] * 5, [0.0, 2.0, 5.0, 5.0, 5.0], "11132"),
        # A full butt cannot rise.
        ([195.0] * 5, [0.0, 2.0, 5.0, 5.0, 5.0], "11112"),
        ([110.0] * 5, [0.0, 0.2, 0.4, 0.4, 0.4], "11112"),
    ],
)
def test_levels(
    garden: Garden, store: Store, litres: list[float], rain_mm: list[float], expected: str
) -> None:
    put(store, "gauge", rain_mm)
    now = put(store, "north-level", litres)
    Judge(garden, store).judge(now)
    assert flags(store, "north-level") == expected


def test_rain_that_does_not_fall_is_no_flat_line(garden: Garden, store: Store) -> None:
    Judge(garden, store).judge(put(store, "gauge", [12.4] * 72))
    assert flags(store, "gauge") == "1" * 71 + "2"


def test_a_glitch_of_a_counter_is_no_rain(garden: Garden, store: Store) -> None:
    now = put(store, "gauge", [300.0, 300.2, 0.0, 300.4, 300.4])
    Judge(garden, store).judge(now)
    assert flags(store, "gauge") == "11412"
    rises = store.readings.hourly_rise("gauge", START, now + HOUR)
    assert sum(rise for _, rise in rises) == pytest.approx(0.4)


def test_a_doubted_level_counts_less_and_a_failed_one_not_at_all(
    garden: Garden, store: Store
) -> None:
    def newest(flag: int, at: int) -> tuple[float, float]:
        moment = START + at * HOUR
        put_readings(store, "north-level", {moment: 100.0 + at}, flag=flag)
        level = levels_read(garden, store, [], moment)[-1]
        return level.litres, level.sd_l

    good, doubted, failed = newest(1, 0), newest(3, 1), newest(4, 2)
    assert good == (100.0, 3.0)
    assert doubted == (101.0, 12.0)
    assert failed == doubted


def test_months_by_normals_and_by_a_record(garden: Garden) -> None:
    assert usual_air_c(garden)[6] == (4.0, 24.0)
    normals = {
        "rain_mm": (50.0,) * 12,
        "wet_days": (10.0,) * 12,
        "tmin_c": (4.0,) * 12,
        "tmax_c": (12.0,) * 12,
    }
    assert usual_air_c(make_garden(weather_record={"normals": normals}))[1] == (-11.0, 27.0)
    assert usual_air_c(make_garden()) == {}


def test_a_record_that_cannot_be_read_stops_nothing(tmp_path: Path) -> None:
    garden = make_garden(tmp_path, weather_record={"daily": "gone.csv"}, sensor=[AIR])
    with open_store(garden_store_url(garden), garden) as store:
        Judge(garden, store).judge(put(store, "shade", mild(3)))
        assert flags(store, "shade") == "112"


def test_what_was_said_at_intake_is_left(garden: Garden, store: Store) -> None:
    put_readings(store, "shade", {START: 12.0}, flag=3)
    now = put(store, "shade", mild(3), start=START + HOUR)
    Judge(garden, store).judge(now)
    assert flags(store, "shade") == "3112"
    assert store.readings.newest_passed() == to_ms(START + 2 * HOUR)


# A drop or a web before a probe sends an echo back: for an hour the butt seems full or nearly.
def test_a_false_echo_from_near_the_lid_is_no_full_butt(garden: Garden, store: Store) -> None:
    full_l = 0.98 * garden.butt[0].capacity_l
    now = put(store, "north-level", [80.0, 80.0, full_l, 80.0, 80.0])
    Judge(garden, store).judge(now)
    assert flags(store, "north-level") == "11412"
