"""What the mirror is told to send, whatever order readings come in."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.gardens import GAUGE, make_garden, note, put_readings

from steepwell.clock import from_ms, to_ms
from steepwell.store.arrivals import Batch
from steepwell.store.judged import Point
from steepwell.store.mirror import SETTLES, Sent
from steepwell.store.store import garden_store_url, open_store

if TYPE_CHECKING:
    from typing import Any

    from steepwell.garden.garden import Garden
    from steepwell.store.store import Store

NOW = datetime(2031, 6, 1, 12, tzinfo=UTC)
HOUR = timedelta(hours=1)
MINUTE = timedelta(minutes=1)

Key = tuple[int, int]


def waiting(store: Store) -> list[Key]:
    """Return sensor and time of every reading that is to be sent, doubled ones twice."""
    return [
        (span.sensor, time_ms)
        for span in store.mirror.spans()
        for time_ms, _, _ in store.mirror.readings(span)
    ]


def take_all(store: Store, now: datetime) -> list[Key]:
    """Hand over, and take, all there is."""
    store.mirror.hand_over(now)
    taken = waiting(store)
    spans = [(span.id, span.last_ms) for span in store.mirror.spans()]
    store.mirror.taken(Sent(spans=spans), now)
    return taken


def put(store: Store, sensor: str, *moments: datetime) -> set[Key]:
    put_readings(store, sensor, dict.fromkeys(moments, 1.0))
    return {(store.readings.ids[sensor], to_ms(moment)) for moment in moments}


def test_everything_goes_once_and_then_what_is_new(store: Store) -> None:
    old = put(store, "gauge", NOW - 48 * HOUR, NOW - HOUR) | put(store, "leek-probe", NOW - HOUR)
    assert sorted(take_all(store, NOW)) == sorted(old)
    assert take_all(store, NOW) == []
    new = put(store, "gauge", NOW + MINUTE)
    assert take_all(store, NOW + HOUR) == list(new)


def test_what_has_just_come_waits_until_it_is_judged(store: Store) -> None:
    put(store, "gauge", NOW - MINUTE)
    assert take_all(store, NOW) == []
    assert len(take_all(store, NOW + SETTLES)) == 1


def test_what_comes_late_is_sent_although_newer_readings_were(store: Store) -> None:
    put(store, "gauge", NOW - HOUR)
    put(store, "leek-probe", NOW - HOUR)
    take_all(store, NOW)
    late = put(store, "leek-probe", NOW - 25 * HOUR, NOW - 24 * HOUR)
    assert set(take_all(store, NOW)) == late


def test_what_comes_late_while_the_rest_is_sent_stays(store: Store) -> None:
    put(store, "gauge", NOW - HOUR)
    store.mirror.hand_over(NOW)
    spans = [(span.id, span.last_ms) for span in store.mirror.spans()]
    late = put(store, "gauge", NOW - 2 * HOUR)
    store.mirror.taken(Sent(spans=spans), NOW)
    assert set(take_all(store, NOW)) == late


def test_a_flag_that_comes_later_is_sent(store: Store) -> None:
    batch = Batch()
    number = store.readings.ids["gauge"]
    for at in (NOW - 2 * HOUR, NOW - HOUR):
        batch.timed.append((to_ms(at), number, 1.0, 2, None))
        batch.origins.append((to_ms(at), "", b""))
    store.readings.write(batch)
    take_all(store, NOW)
    store.judged.write({"gauge": [Point(to_ms(NOW - HOUR), 1.0, 3, "it jumped")]})
    store.mirror.hand_over(NOW)
    (span,) = store.mirror.spans()
    assert list(store.mirror.readings(span)) == [(to_ms(NOW - HOUR), 1.0, 3)]


def test_what_was_taken_of_a_long_span_is_not_sent_again(store: Store) -> None:
    put(store, "gauge", *(NOW - hour * HOUR for hour in range(1, 10)))
    store.mirror.hand_over(NOW)
    (span,) = store.mirror.spans()
    store.mirror.taken(Sent(spans=[(span.id, to_ms(NOW - 5 * HOUR))]), NOW)
    assert [time_ms for _, time_ms in waiting(store)] == [
        to_ms(NOW - hour * HOUR) for hour in (4, 3, 2, 1)
    ]


def test_while_nothing_is_taken_a_sensor_keeps_one_span(store: Store) -> None:
    for hour in range(24):
        put(store, "gauge", NOW + hour * HOUR, NOW + hour * HOUR - 90 * MINUTE)
        store.mirror.hand_over(NOW + hour * HOUR + SETTLES)
    assert len(store.mirror.spans()) == 1
    assert len(take_all(store, NOW + 30 * HOUR)) == 48


def test_it_is_sent_again_from_a_day_on(store: Store) -> None:
    put(store, "gauge", NOW - 48 * HOUR)
    put(store, "leek-probe", NOW - 30 * HOUR)
    again = put(store, "gauge", NOW - HOUR)
    take_all(store, NOW)
    store.mirror.taken(Sent(days_to_ms=to_ms(NOW), issued_ms=to_ms(NOW)), NOW)
    start = NOW - 24 * HOUR
    store.mirror.send_again(start, NOW)
    state = store.mirror.state()
    assert state is not None
    assert (state.days_from, state.issued) == (start, start - timedelta(milliseconds=1))
    assert set(take_all(store, NOW)) == again


@pytest.mark.parametrize("withdrawn", [False, True])
def test_a_note_about_a_past_day_has_its_values_sent_again(
    store: Store, garden: Garden, *, withdrawn: bool
) -> None:
    then = NOW - 72 * HOUR
    note(store, garden, then, "rain-read", mm=4.0)
    take_all(store, NOW)
    store.mirror.taken(Sent(days_to_ms=to_ms(NOW)), NOW)
    take_all(store, NOW)
    assert day_of(store) == NOW
    (first,) = store.journal.entries(NOW)
    if withdrawn:
        note(store, garden, NOW, "corrected", withdraws=first.id)
    else:
        note(store, garden, then, "level-read", butt="north", litres=40)
    store.mirror.hand_over(NOW)
    assert day_of(store) == then


def day_of(store: Store) -> datetime | None:
    state = store.mirror.state()
    assert state is not None
    return state.days_from


def test_refused_lines_are_kept_and_counted(store: Store) -> None:
    store.mirror.hand_over(NOW)
    for number in range(3):
        refused = [(f"line {number} {'x' * 400}", "not a number"), (f"other {number}", "why")]
        store.mirror.taken(Sent(refused=refused), NOW)
    assert store.mirror.refused_count() == 6
    newest, before = store.mirror.refused(2)
    assert (newest.line, newest.reason) == ("other 2", "why")
    assert len(before.line) == 256


def test_a_failure_stands_until_it_goes_well(store: Store) -> None:
    store.mirror.hand_over(NOW)
    store.mirror.failed("it is away", NOW + HOUR, lasting=False)
    store.mirror.failed("it is away", NOW + 2 * HOUR, lasting=True)
    state = store.mirror.state()
    assert state is not None
    assert (state.failures, state.reason, state.lasting) == (2, "it is away", True)
    assert (state.complete, state.next_try) == (NOW, NOW + 2 * HOUR)
    store.mirror.went_well(NOW + 3 * HOUR, complete=False)
    state = store.mirror.state()
    assert state is not None
    assert (state.failures, state.reason, state.complete) == (0, None, NOW)


STEPS = st.lists(
    st.one_of(
        st.tuples(st.just("read"), st.lists(st.integers(0, 300), min_size=1, max_size=6)),
        st.tuples(st.just("send"), st.integers(0, 3)),
        st.tuples(st.just("wait"), st.integers(1, 90)),
    ),
    max_size=25,
)


@settings(max_examples=60)
@given(steps=STEPS)
def test_in_the_end_everything_was_taken_whatever_the_order(
    tmp_path_factory: pytest.TempPathFactory, steps: list[tuple[str, Any]]
) -> None:
    garden = make_garden(tmp_path_factory.mktemp("mirror"), sensor=[GAUGE])
    with open_store(garden_store_url(garden), garden) as store:
        check_in_the_end_all_was_taken(store, steps)


def check_in_the_end_all_was_taken(store: Store, steps: list[tuple[str, Any]]) -> None:
    number = store.readings.ids["gauge"]
    now, there, taken = NOW, set[Key](), set[Key]()
    for step, what in steps:
        if step == "wait":
            now += what * MINUTE
        elif step == "read":
            fresh = {(number, to_ms(now - ago * MINUTE)) for ago in what} - there
            if fresh:
                put(store, "gauge", *(from_ms(time_ms) for _, time_ms in fresh))
            there |= fresh
        else:
            store.mirror.hand_over(now)
            done = []
            for span in store.mirror.spans()[:what]:
                taken |= {(number, time_ms) for time_ms, _, _ in store.mirror.readings(span)}
                done.append((span.id, span.last_ms))
            store.mirror.taken(Sent(spans=done), now)
    taken |= set(take_all(store, now + SETTLES))
    assert taken == there
