"""What one flush after another leaves in a server with faults: everything, once."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest
from tests.gardens import GAUGE, level_probe, make_garden, put_readings

from steepwell.mirror.flush import LOT, flush
from steepwell.mirroring import keep_account
from steepwell.store.mirror import SETTLES
from steepwell.store.store import garden_store_url, open_store

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from tests.mirrors import FaultyServer

    from steepwell.garden.garden import Garden
    from steepwell.store.store import Store

NOW = datetime(2031, 6, 3, 12, tzinfo=UTC)
SECOND = timedelta(seconds=1)
HOUR = timedelta(hours=1)
SECOND_OF_JUNE = 1_938_124_800_000
OUTLOOK: dict[str, Any] = {
    "days": ["2031-06-03", "2031-06-04"],
    "water": {"volume_l": {"p50": [100, 90]}, "p_dry": [0.0, 0.1]},
    "butts": [],
    "vessels": [],
}


@pytest.fixture
def garden(tmp_path: Path, faulty_server: FaultyServer) -> Garden:
    mirror = {"url": faulty_server.url, "organisation": "plum", "bucket": "garden"}
    return make_garden(tmp_path, sensor=[GAUGE, level_probe("north")], mirror=mirror)


@pytest.fixture
def store(garden: Garden) -> Iterator[Store]:
    with open_store(garden_store_url(garden), garden) as store:
        yield store


def put(store: Store, sensor: str, count: int, value: float = 100.0) -> None:
    first = NOW - SETTLES - count * SECOND
    put_readings(store, sensor, {first + n * SECOND: value for n in range(count)})


def flush_once(garden: Garden, store: Store, now: datetime = NOW) -> bool:
    store.mirror.hand_over(now)
    answer = flush(garden, store, now)
    with store.transaction():
        return keep_account(store, answer, now)


def test_readings_go_in_lots_of_all_sensors(
    garden: Garden, store: Store, faulty_server: FaultyServer
) -> None:
    put(store, "gauge", 7000)
    put(store, "north-level", 4001)
    assert flush_once(garden, store)
    sizes = [len(lines) for *_, lines in faulty_server.requests]
    assert sizes == [LOT, LOT, 1001]
    assert len(faulty_server.measured("reading")) == 11_001


@pytest.mark.parametrize("count", [LOT - 1, LOT, LOT + 1, 2 * LOT])
def test_a_lot_may_end_where_a_sensor_does(
    garden: Garden, store: Store, faulty_server: FaultyServer, count: int
) -> None:
    put(store, "gauge", count)
    put(store, "north-level", 3)
    assert flush_once(garden, store)
    assert len(faulty_server.measured("reading")) == count + 3
    assert store.mirror.spans() == []


@pytest.mark.parametrize(
    "faults",
    [
        [503],
        ["drop"],
        ["deafen", "deafen", 429],
        [413],
        [400],
        [401, 403, 404, 500, 502],
        ["drop", 413, 503, "deafen", 400, 429],
    ],
)
def test_after_any_faults_everything_is_there(
    garden: Garden, store: Store, faulty_server: FaultyServer, faults: list[int | str]
) -> None:
    put(store, "gauge", 6000)
    put(store, "north-level", 6000)
    store.results.save("outlook", NOW, OUTLOOK)
    faulty_server.faults = list(faults)
    tries = 1
    while not flush_once(garden, store):
        tries += 1
        assert tries <= len(faults) + 1
    assert faulty_server.faults == []
    assert len(faulty_server.measured("reading")) == 12_000
    assert len(faulty_server.measured("outlook_water")) == 2
    assert store.mirror.refused_count() == 0


def test_what_was_taken_before_a_fault_is_not_sent_again(
    garden: Garden, store: Store, faulty_server: FaultyServer
) -> None:
    put(store, "gauge", LOT + 10)
    faulty_server.faults = [None, 503]
    assert not flush_once(garden, store)
    assert flush_once(garden, store)
    assert [len(lines) for *_, lines in faulty_server.requests] == [LOT, 10, 10]


def test_when_time_is_up_the_rest_is_left_for_the_next_time(garden: Garden, store: Store) -> None:
    put(store, "gauge", 10)
    store.mirror.hand_over(NOW)
    answer = flush(garden, store, NOW, sends_for_s=0.0)
    assert (answer["more"], answer["failure"]) == (True, None)
    with store.transaction():
        assert not keep_account(store, answer, NOW)
    assert len(store.mirror.spans()) == 1


def test_a_day_goes_when_it_is_over_and_again_when_it_changes(
    garden: Garden, store: Store, faulty_server: FaultyServer
) -> None:
    put_readings(store, "north-level", {NOW - 14 * HOUR: 120.0, NOW - 3 * HOUR: 90.0})
    assert flush_once(garden, store)
    # 2 June 2031 begins in UTC at 1,938,124,800 s; nothing is said of the day that is not over.
    assert faulty_server.measured("day") == {
        ("day,garden=plum-lane", SECOND_OF_JUNE): "stored_l=120"
    }
    assert flush_once(garden, store, NOW + HOUR)
    assert len(faulty_server.requests) == 2
    put_readings(store, "north-level", {NOW - 13 * HOUR: 110.0})
    assert flush_once(garden, store, NOW + 2 * HOUR)
    assert faulty_server.measured("day") == {
        ("day,garden=plum-lane", SECOND_OF_JUNE): "stored_l=110"
    }


def test_a_reading_that_no_server_takes_is_passed_over_and_kept_for_the_keeper(
    garden: Garden, store: Store, faulty_server: FaultyServer
) -> None:
    put(store, "gauge", 100)
    put_readings(store, "north-level", {NOW - 2 * SETTLES: 13.0})
    faulty_server.refuses = lambda line: "volume_l=13" in line
    assert flush_once(garden, store)
    assert len(faulty_server.measured("reading")) == 100
    ((_, line, reason),) = store.mirror.refused(5)
    assert line.startswith("reading,garden=plum-lane,of=north,sensor=north-level ")
    assert "partial write" in reason
    assert flush_once(garden, store, NOW + SETTLES)
    assert store.mirror.refused_count() == 1


@pytest.mark.parametrize(
    ("retry_after", "wait"),
    [(None, timedelta(minutes=1)), ("30", timedelta(minutes=1)), ("7200", timedelta(hours=2))],
)
def test_the_next_try_is_when_the_server_asks_for_it_and_not_at_once(
    garden: Garden,
    store: Store,
    faulty_server: FaultyServer,
    retry_after: str | None,
    wait: timedelta,
) -> None:
    put(store, "gauge", 1)
    faulty_server.faults = [503]
    faulty_server.headers = {} if retry_after is None else {"Retry-After": retry_after}
    assert not flush_once(garden, store)
    state = store.mirror.state()
    assert state is not None
    assert state.next_try == NOW + wait
    assert state.reason is not None
    assert "503" in state.reason


def test_the_pause_grows_to_an_hour(
    garden: Garden, store: Store, faulty_server: FaultyServer
) -> None:
    put(store, "gauge", 1)
    faulty_server.faults = [503] * 9
    waits = []
    for _ in range(9):
        flush_once(garden, store)
        state = store.mirror.state()
        assert state is not None
        waits.append((state.next_try - NOW) // timedelta(minutes=1))
    assert waits == [1, 2, 4, 8, 16, 32, 60, 60, 60]
