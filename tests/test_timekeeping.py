"""Stories of clocks that are wrong: in the past, ahead, set back, and never set at all."""

from __future__ import annotations

import threading
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from tests.clocks import ShedClock
from tests.gardens import AIR, make_garden, put_readings

from steepwell.clock import to_ms
from steepwell.rounds import Rounds
from steepwell.schedule import ORDER, due
from steepwell.sense.moments import Moments
from steepwell.sense.readers import Measured
from steepwell.store.arrivals import Batch
from steepwell.store.store import garden_store_url, open_store
from steepwell.timekeeping import Timekeeper, forget_what_is_ahead, newest_known

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from steepwell.store.store import Store

HOUR = timedelta(hours=1)
DAY = timedelta(days=1)
NOW = datetime(2031, 6, 20, 12, 0, tzinfo=UTC)  # a Friday
GARDEN = make_garden(sensor=[AIR])
WITHIN_S = 10.0


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    garden = make_garden(tmp_path, sensor=[AIR])
    with open_store(garden_store_url(garden), garden) as opened:
        yield opened


def test_a_board_without_a_battery_waits_until_its_clock_is_set() -> None:
    clock = ShedClock(datetime(1970, 1, 1, tzinfo=UTC))
    keeper = Timekeeper(clock, NOW)
    clock.passes(HOUR)
    assert not keeper.look().believed
    clock.shows = NOW + HOUR
    assert keeper.was_set()
    by = NOW - datetime(1970, 1, 1, tzinfo=UTC)
    assert keeper.look() == (NOW + HOUR, True, by)
    assert not keeper.was_set()


# It went on where it stopped, two hours before the newest reading.
def test_a_clock_behind_the_newest_reading_waits_until_it_is_set() -> None:
    clock = ShedClock(NOW - 2 * HOUR)
    keeper = Timekeeper(clock, NOW)
    clock.passes(timedelta(minutes=5))
    assert not keeper.look().believed
    clock.shows = NOW + 19 * DAY
    assert keeper.look().believed


@pytest.mark.parametrize("to", [NOW - 3 * DAY, NOW - HOUR, NOW + 30 * DAY])
def test_who_sets_a_clock_that_runs_knows_better(to: datetime) -> None:
    clock = ShedClock(NOW)
    keeper = Timekeeper(clock, NOW)
    clock.passes(HOUR)
    assert keeper.look().believed
    clock.shows = to
    assert keeper.look().believed
    clock.passes(HOUR)
    assert keeper.look().believed


def test_where_nobody_sets_a_clock_it_is_believed_after_a_day() -> None:
    clock = ShedClock(NOW - 30 * DAY)
    keeper = Timekeeper(clock, NOW)
    clock.passes(23 * HOUR)
    assert not keeper.look().believed
    clock.passes(HOUR)
    assert keeper.look().believed


def test_a_clock_before_the_program_was_made_is_never_believed() -> None:
    clock = ShedClock(datetime(2025, 12, 1, tzinfo=UTC))
    keeper = Timekeeper(clock, None)
    clock.passes(2 * DAY)
    assert not keeper.look().believed


def test_a_clock_that_is_kept_right_little_by_little_was_not_set() -> None:
    clock = ShedClock(NOW)
    keeper = Timekeeper(clock, None)
    clock.passes(HOUR)
    clock.shows += timedelta(seconds=30)
    assert not keeper.was_set()


# The clock was in 2040 for a while. What was done then is forgotten, so that work is not put off
# by nine years, and nothing is done a second time for a period that has begun.
def test_work_goes_on_after_a_clock_was_ahead(store: Store) -> None:
    ahead = datetime(2040, 1, 1, 12, 0, tzinfo=UTC)
    put_readings(store, "shade", {NOW - HOUR: 20.0, ahead: 21.0})
    with store.transaction():
        for job in (*ORDER, "first-run"):
            store.ledger.finish(job, ahead)
    assert due(GARDEN, store.ledger.all(), NOW + DAY) == []
    assert newest_known(store) == ahead

    assert forget_what_is_ahead(store, NOW)
    assert due(GARDEN, store.ledger.all(), NOW) == []
    ran = {
        job: next(
            hours
            for hours in range(1, 24 * 8)
            if job in [one.job for one in due(GARDEN, store.ledger.all(), NOW + hours * HOUR)]
        )
        for job in ("watch", "outlook", "letter")
    }
    # The letter of this Friday is at 17:00, the outlook at 06:30.
    assert ran == {"watch": 1, "letter": 5, "outlook": 19}

    newest = store.readings.latest(ahead + DAY)["shade"]
    assert (newest.flag, newest.reason) == (3, "our clock was ahead: time of arrival")
    assert newest_known(store) == NOW
    assert not forget_what_is_ahead(store, NOW)


def test_what_was_done_a_moment_ago_stays_done(store: Store) -> None:
    with store.transaction():
        store.ledger.finish("letter", NOW + timedelta(minutes=5))
    assert not forget_what_is_ahead(store, NOW)


def test_readings_come_in_their_order_after_a_clock_was_ahead() -> None:
    moments = Moments({}, 0, replaying=False)
    said = Measured(1, None, 0, None, 20.0, 1, None)
    ahead = moments.of(said, to_ms(NOW + 9 * 365 * DAY))
    assert ahead.flag == 1
    moments.forget_after(to_ms(NOW))
    assert moments.of(said, to_ms(NOW + HOUR)).time_ms == to_ms(NOW + HOUR)
    assert moments.of(said, to_ms(NOW + HOUR)).flag == 1


# A board woke up in 1970; its clock was set to 2000 by mistake, and then right. Three messages
# without a time came meanwhile, ten minutes apart.
def test_what_came_while_the_clock_was_wrong_gets_its_time(store: Store) -> None:
    minutes = timedelta(minutes=10)
    wrong, wronger = datetime(1970, 1, 1, tzinfo=UTC), datetime(2000, 1, 1, tzinfo=UTC)
    number = store.readings.ids["shade"]
    put_readings(store, "shade", {NOW - DAY: 15.0})
    moments = Moments({number: to_ms(NOW - DAY)}, to_ms(NOW - DAY), replaying=False)

    def comes(celsius: float, at: datetime) -> None:
        said = Measured(number, None, 0, None, celsius, 1, None)
        when = moments.of(said, to_ms(at))
        row = (when.time_ms, number, celsius, when.flag, when.reason)
        store.readings.write(Batch(arrived=[row]))

    comes(16.0, wrong)
    comes(17.0, wrong + minutes)
    moments.shift_unset(to_ms(wronger) - to_ms(wrong))
    comes(18.0, wronger + 2 * minutes)
    moments.shift_unset(to_ms(NOW) - to_ms(wronger))
    comes(19.0, NOW + 3 * minutes)
    store.readings.move(moments.take_unset())
    assert moments.take_unset() == []

    for times, celsius in enumerate((16.0, 17.0, 18.0, 19.0)):
        found = store.readings.latest(NOW + times * minutes)["shade"]
        assert (found.time_ms, found.value) == (to_ms(NOW + times * minutes), celsius)
    assert store.readings.latest(NOW - minutes)["shade"].value == 15.0
    moved = store.readings.latest(NOW)["shade"]
    assert (moved.flag, moved.reason) == (2, "our clock was set after it came")


def test_rounds_go_on_after_one_broke_off() -> None:
    rounds_gone: list[int] = []
    enough = threading.Event()

    def work() -> None:
        rounds_gone.append(len(rounds_gone))
        if len(rounds_gone) == 1:
            raise ValueError
        if len(rounds_gone) == 3:
            enough.set()

    rounds = Rounds(work, every_s=0.01)
    rounds.start()
    assert enough.wait(WITHIN_S)
    assert rounds.alive()
    rounds.stop()
    assert not rounds.alive()


def test_a_round_may_be_hurried() -> None:
    came = [threading.Event(), threading.Event()]
    waiting = iter(came)
    rounds = Rounds(lambda: next(waiting).set(), every_s=3600.0)
    rounds.start()
    assert came[0].wait(WITHIN_S)
    rounds.hurry()
    assert came[1].wait(WITHIN_S)
    rounds.stop()
