from __future__ import annotations

from datetime import UTC, datetime

import pytest

from steepwell.clock import to_ms
from steepwell.errors import MessageRefusedError
from steepwell.sense.moments import Moment, Moments, moment_of
from steepwell.sense.readers import Measured

NOW = to_ms(datetime(2031, 6, 1, 12, tzinfo=UTC))
MINUTE = 60_000
HOUR = 60 * MINUTE
DAY = 24 * HOUR
LEEK, NORTH = 1, 2


def value(time_ms: int | None = None, offset_ms: int = 0, sensor: int = LEEK) -> Measured:
    return Measured(sensor, time_ms, offset_ms, None, 14.0, 1, None)


def moments(newest_ms: dict[int, int] | None = None, passed_ms: int = 0) -> Moments:
    return Moments(newest_ms or {}, passed_ms, replaying=False)


@pytest.mark.parametrize(
    ("value", "moment"),
    [
        (1_938_081_600, datetime(2031, 6, 1, 12, tzinfo=UTC)),
        (1_938_081_600.25, datetime(2031, 6, 1, 12, 0, 0, 250_000, tzinfo=UTC)),
        (1_938_081_600_250, datetime(2031, 6, 1, 12, 0, 0, 250_000, tzinfo=UTC)),
        ("2031-06-01T12:00:00Z", datetime(2031, 6, 1, 12, tzinfo=UTC)),
        ("2031-06-01 13:00:00.250+01:00", datetime(2031, 6, 1, 12, 0, 0, 250_000, tzinfo=UTC)),
        ("20310601T120000Z", datetime(2031, 6, 1, 12, tzinfo=UTC)),
        (0, datetime(1970, 1, 1, tzinfo=UTC)),
    ],
)
def test_a_time_is_understood(value: object, moment: datetime) -> None:
    assert moment_of(value) == to_ms(moment)


@pytest.mark.parametrize(
    ("value", "message"),
    [
        ("noon", "its time is 'noon', which is no time"),
        ("2031-06-01T12:00:00", "its time, '2031-06-01T12:00:00', is without a time zone"),
        (None, "its time is null, and should be a number"),
        (True, "its time is true, and should be a number"),
        (float("inf"), "its time is too large a number"),
    ],
)
def test_what_is_no_time_is_refused(value: object, message: str) -> None:
    with pytest.raises(MessageRefusedError, match=message):
        moment_of(value)


@pytest.mark.parametrize(
    "time_ms",
    [NOW, NOW - DAY, NOW + 10 * MINUTE, to_ms(datetime(2020, 1, 1, tzinfo=UTC))],
    ids=["now", "yesterday", "ten minutes ahead", "2020"],
)
def test_a_time_in_the_message_wins(time_ms: int) -> None:
    assert moments().of(value(time_ms), NOW) == Moment(time_ms, 1, None)


@pytest.mark.parametrize(
    ("time_ms", "offset_ms", "shown"),
    [
        (NOW + 10 * MINUTE + 1, 0, "2031-06-01 12:10"),
        (to_ms(datetime(2020, 1, 1, tzinfo=UTC)) - 1, 0, "2019-12-31 23:59"),
        (0, 0, "1970-01-01 00:00"),
        (10**18, 0, "1000000000000000 s after 1970"),
        (None, HOUR, "2031-06-01 13:00"),
        (None, -20 * 365 * DAY, "2011-06-06 12:00"),
    ],
)
def test_a_time_that_cannot_be_gives_way_to_that_of_arrival(
    time_ms: int | None, offset_ms: int, shown: str
) -> None:
    reason = f"its time, {shown}, cannot be: time of arrival"
    found = moments().of(value(time_ms, offset_ms), NOW)
    assert found == Moment(NOW, 3, reason, is_arrival=True)


def test_a_time_that_cannot_be_read_gives_way_to_that_of_arrival() -> None:
    doubtful = value()._replace(doubt="its time is 'noon', which is no time")
    reason = "its time is 'noon', which is no time: time of arrival"
    assert moments().of(doubtful, NOW) == Moment(NOW, 3, reason, is_arrival=True)


def test_without_a_time_that_of_arrival_is_taken() -> None:
    assert moments().of(value(), NOW) == Moment(NOW, 1, None, is_arrival=True)
    assert moments().of(value(None, -5000), NOW) == Moment(NOW - 5000, 1, None, is_arrival=True)


def test_readings_of_one_sensor_keep_the_order_they_came_in() -> None:
    rules = moments()
    came = [rules.of(value(), arrival).time_ms for arrival in (NOW, NOW, NOW, NOW - 40, NOW + 9)]
    assert came == [NOW, NOW + 1, NOW + 2, NOW + 3, NOW + 9]
    assert rules.of(value(sensor=NORTH), NOW).time_ms == NOW


def test_the_order_is_kept_over_a_restart() -> None:
    assert moments({LEEK: NOW + 60}).of(value(), NOW).time_ms == NOW + 61
    assert moments({LEEK: NOW - DAY}).of(value(), NOW).time_ms == NOW


def test_a_reading_far_ahead_does_not_hold_up_its_sensor() -> None:
    assert moments({LEEK: NOW + DAY}).of(value(), NOW).time_ms == NOW


# A small board without a battery wakes up in the past: before this program was made, or before
# what it has stored.
@pytest.mark.parametrize(
    ("arrival_ms", "passed_ms"),
    [(to_ms(datetime(1970, 1, 1, 0, 1, tzinfo=UTC)), 0), (NOW, NOW + HOUR + 1)],
    ids=["1970", "an hour behind"],
)
def test_while_the_clock_is_not_set(arrival_ms: int, passed_ms: int) -> None:
    rules = moments({LEEK: NOW + HOUR}, passed_ms)
    assert not rules.clock_is_set(arrival_ms)
    timed = rules.of(value(NOW + 2 * HOUR), arrival_ms)
    assert timed == Moment(NOW + 2 * HOUR, 2, "its own time; our clock was not set")
    reason = "our clock was not set: time of arrival"
    untimed = rules.of(value(), arrival_ms)
    assert untimed == Moment(NOW + HOUR + 1, 3, reason, is_arrival=True)
    first = rules.of(value(sensor=NORTH), arrival_ms)
    assert first == Moment(arrival_ms, 3, reason, is_arrival=True)
    impossible = rules.of(value(0), arrival_ms)
    assert impossible.reason == (
        "its time, 1970-01-01 00:00, cannot be, and our clock was not set: time of arrival"
    )


def test_the_clock_is_set_while_it_is_not_far_behind() -> None:
    assert moments(passed_ms=NOW + HOUR).clock_is_set(NOW)
    rules = moments()
    rules.of(value(NOW), NOW)
    assert rules.clock_is_set(NOW - HOUR)
    assert not rules.clock_is_set(NOW - HOUR - 1)


def test_a_clock_that_replays_the_past_is_right() -> None:
    rules = Moments({}, NOW, replaying=True)
    past = to_ms(datetime(1976, 6, 1, tzinfo=UTC))
    assert rules.of(value(past - HOUR), past) == Moment(past - HOUR, 1, None)
    assert rules.of(value(), past) == Moment(past, 1, None, is_arrival=True)
    ahead = rules.of(value(past + HOUR, sensor=NORTH), past)
    assert (ahead.time_ms, ahead.flag) == (past, 3)


def learned(off_ms: int, late_ms: tuple[int, ...] = (0, 3, 5, 1, 2, 4)) -> Moments:
    """Return rules that have heard a message every quarter of an hour from a clock that is off."""
    rules = moments()
    for number, delay_s in enumerate(late_ms):
        arrival_ms = NOW - DAY + number * 15 * MINUTE
        rules.of(value(arrival_ms - delay_s * 1000 + off_ms), arrival_ms)
    return rules


@pytest.mark.parametrize(
    ("off_ms", "told"),
    [
        (3 * HOUR, "its clock is 3.0 hours ahead, and was put right"),
        (-2 * HOUR, "its clock is 2.0 hours behind, and was put right"),
        (-61 * 365 * DAY, "its clock is 22265 days behind, and was put right"),
    ],
)
def test_a_clock_that_has_long_been_wrong_is_put_right(off_ms: int, told: str) -> None:
    rules = learned(off_ms)
    assert rules.of(value(NOW - 4000 + off_ms), NOW) == Moment(NOW - 4000, 2, told, is_arrival=True)
    # A stored day of the same clock keeps its order and its distances.
    times_ms = [rules.of(value(NOW - hours * HOUR + off_ms), NOW).time_ms for hours in (9, 6, 3)]
    assert times_ms == [NOW - 9 * HOUR, NOW - 6 * HOUR, NOW - 3 * HOUR]


def test_a_clock_that_is_set_is_believed_again() -> None:
    rules = learned(3 * HOUR)
    assert rules.of(value(NOW - 1000), NOW) == Moment(NOW - 1000, 1, None)
    assert rules.of(value(NOW - HOUR), NOW) == Moment(NOW - HOUR, 1, None)


@pytest.mark.parametrize(
    ("off_ms", "late_s"),
    [(-2 * HOUR, (0, 900, 1800, 2700, 3600, 4500)), (-30 * DAY, (0, 0, 0, 0, 0, 0))],
    ids=["kept back for longer and longer", "stored for a month"],
)
def test_messages_that_were_kept_back_are_believed(off_ms: int, late_s: tuple[int, ...]) -> None:
    rules = learned(off_ms, late_s)
    assert rules.of(value(NOW + off_ms), NOW) == Moment(NOW + off_ms, 1, None)


def test_a_clock_is_not_judged_by_one_burst_of_messages() -> None:
    rules = moments()
    for number in range(100):
        rules.of(value(NOW - 2 * HOUR + number), NOW + number)
    assert rules.of(value(NOW - HOUR), NOW + MINUTE) == Moment(NOW - HOUR, 1, None)
