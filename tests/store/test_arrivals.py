from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import pytest

from steepwell.clock import to_ms
from steepwell.store.arrivals import Batch
from steepwell.store.sqlite import store_file

if TYPE_CHECKING:
    from steepwell.store.rows import Row
    from steepwell.store.store import Store

NOW = datetime(2031, 6, 1, 12, tzinfo=UTC)
AT = to_ms(NOW) - 60_000


def row(value: float, at_ms: int = AT, sensor: int = 1) -> Row:
    return at_ms, sensor, value, 1, None


def timed(*rows: Row) -> Batch:
    origins = [(at, "quince/leek", str(value).encode()) for at, _, value, _, _ in rows]
    return Batch(timed=list(rows), origins=origins)


def stored(url: str) -> list[tuple[int, int, float]]:
    with closing(sqlite3.connect(store_file(url))) as connection:
        question = "SELECT time_ms, sensor, value FROM reading ORDER BY sensor, time_ms"
        return connection.execute(question).fetchall()


@pytest.mark.parametrize(
    ("first", "second", "outcome"),
    [
        ([row(14.0)], [row(14.0)], (0, 1, 0)),
        ([row(14.0)], [row(14.5)], (0, 0, 1)),
        ([row(14.0)], [row(14.0, AT + 1)], (1, 0, 0)),
        ([row(14.0)], [row(14.0, sensor=2)], (1, 0, 0)),
        ([], [row(14.0), row(14.0)], (1, 1, 0)),
        ([], [row(14.0), row(15.0)], (1, 0, 1)),
        ([row(14.0)], [row(15.0), row(14.0), row(16.0, AT + 1)], (1, 1, 1)),
    ],
    ids=["repeat", "conflict", "later", "other sensor", "twice", "two values", "all of it"],
)
def test_a_sensor_has_one_reading_at_a_time(
    store: Store, first: list[Row], second: list[Row], outcome: tuple[int, int, int]
) -> None:
    if first:
        store.readings.write(timed(*first))
    assert store.readings.write(timed(*second)) == outcome
    assert store.refused.count(NOW) == outcome[2]


def test_another_value_for_the_same_time_is_kept_as_refused(store: Store, url: str) -> None:
    store.readings.write(timed(row(14.0)))
    store.readings.write(timed(row(14.5)))
    assert stored(url) == [(AT, 1, 14.0)]
    refused = store.refused.newest(1)[0]
    assert (refused.topic, refused.payload) == ("quince/leek", b"14.5")
    assert refused.reason == "there is a reading of this time already, and it is 14, not 14.5"


def test_readings_timed_by_arrival_move_to_the_next_free_millisecond(
    store: Store, url: str
) -> None:
    store.readings.write(timed(row(14.0), row(14.1, AT + 1)))
    outcome = store.readings.write(Batch(arrived=[row(14.0), row(14.0), row(9.0, sensor=2)]))
    assert outcome == (3, 0, 0)
    assert stored(url) == [
        (AT, 1, 14.0),
        (AT + 1, 1, 14.1),
        (AT + 2, 1, 14.0),
        (AT + 3, 1, 14.0),
        (AT, 2, 9.0),
    ]


def test_a_batch_is_written_with_the_identifiers_of_its_messages(store: Store) -> None:
    store.readings.write(Batch(arrived=[row(14.0)], seen=[(7, b"a", 1), (8, b"b", 2)]))
    assert store.seen.last(7) == (b"a", 1)
    assert store.seen.last(9) is None
    assert store.seen.newest_number() == 2
    store.readings.write(Batch(seen=[(7, b"c", 3)]))
    assert store.seen.last(7) == (b"c", 3)


def test_a_new_session_forgets_the_identifiers_of_the_old_one(store: Store) -> None:
    store.readings.write(Batch(seen=[(7, b"a", 1)]))
    store.readings.write(Batch(seen=[(8, b"b", 2)], forget_seen=True))
    assert store.seen.last(7) is None
    assert store.seen.last(8) == (b"b", 2)


def test_refused_messages_are_cut_counted_and_bounded(store: Store) -> None:
    at = to_ms(NOW)
    for first in range(0, 10_500, 3500):
        refused = [(at, f"t/{first + n}", b"x" * 300, "no number") for n in range(3500)]
        assert store.readings.write(Batch(refused=refused)).refused == 3500
    assert store.refused.count(NOW) == 10_500
    kept = store.refused.newest(20_000)
    assert (len(kept), kept[0].topic, kept[-1].topic) == (10_000, "t/10499", "t/500")
    assert {len(message.payload) for message in kept} == {256}


def test_a_reason_may_quote_half_a_character(store: Store) -> None:
    store.readings.write(Batch(refused=[(AT, "t", b"x", "no butt \ud800")]))
    assert store.refused.newest(1)[0].reason == "no butt ?"
