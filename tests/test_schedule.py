"""Which jobs are due, through both changes of the clocks in London."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.gardens import make_garden

from steepwell.schedule import ORDER, Due, due

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden
    from steepwell.schedule import JobName

POINTERS = {"date": "/day", "rain": "/rain", "tmin": "/low", "tmax": "/high"}
FETCHED = {"url": "http://127.0.0.1/days.json", **POINTERS}
MIRROR = {"url": "http://127.0.0.1:8086", "organisation": "plum", "bucket": "garden"}
LONDON = make_garden(zone="Europe/London")
FETCHING = make_garden(zone="Europe/London", forecast=FETCHED)
# Summer time begins on Sunday 30 March 2031 at 01:00 UTC and ends on Sunday 26 October 2031 at
# 01:00 UTC (last Sundays of March and October: the Summer Time Order 2002).
SPRING = datetime(2031, 3, 30, tzinfo=UTC)
AUTUMN = datetime(2031, 10, 26, tzinfo=UTC)
QUARTER = timedelta(minutes=15)
ASKED_EVERY = timedelta(minutes=5)
EMPTY: dict[str, datetime] = {}


def moment(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


def period(garden: Garden, job: JobName, now: datetime) -> datetime | None:
    return next((one.period for one in due(garden, EMPTY, now) if one.job == job), None)


def runs(garden: Garden, job: JobName, start: datetime, hours: int) -> list[datetime]:
    """Return the periods of a job that ran when it was asked for every five minutes."""
    ledger, ran = dict(EMPTY), []
    for number in range(hours * 12):
        now = start + number * ASKED_EVERY
        for one in due(garden, ledger, now):
            assert one.job not in ledger or now - ASKED_EVERY < one.period <= now
            ledger[one.job] = one.period
            if one.job == job:
                ran.append(one.period)
    return ran


@pytest.mark.parametrize(
    ("now", "expected"),
    [
        # 06:30 in London is 06:30 UTC in winter and 05:30 UTC in summer.
        ("2031-01-15T06:29", "2031-01-14T06:30"),
        ("2031-01-15T06:30", "2031-01-15T06:30"),
        ("2031-03-29T07:00", "2031-03-29T06:30"),
        ("2031-03-30T05:29", "2031-03-29T06:30"),
        ("2031-03-30T05:30", "2031-03-30T05:30"),
        ("2031-07-01T05:30", "2031-07-01T05:30"),
        ("2031-10-25T05:30", "2031-10-25T05:30"),
        ("2031-10-26T06:29", "2031-10-25T05:30"),
        ("2031-10-26T06:30", "2031-10-26T06:30"),
    ],
)
def test_daily_work_keeps_to_the_clock_on_the_wall(now: str, expected: str) -> None:
    assert period(LONDON, "outlook", moment(now)) == moment(expected)


@pytest.mark.parametrize(
    ("now", "expected"),
    [
        # Fridays at 17:00; 4 April 2031 is the first Friday of summer time.
        ("2031-03-28T16:59", "2031-03-21T17:00"),
        ("2031-03-28T17:00", "2031-03-28T17:00"),
        ("2031-04-04T15:59", "2031-03-28T17:00"),
        ("2031-04-04T16:00", "2031-04-04T16:00"),
        ("2031-10-24T16:00", "2031-10-24T16:00"),
        ("2031-10-31T16:30", "2031-10-24T16:00"),
        ("2031-10-31T17:00", "2031-10-31T17:00"),
    ],
)
def test_weekly_work_keeps_to_its_day_and_hour(now: str, expected: str) -> None:
    assert period(LONDON, "letter", moment(now)) == moment(expected)


@pytest.mark.parametrize("change", [SPRING, AUTUMN])
def test_the_watch_looks_every_quarter_of_an_hour_through_a_change(change: datetime) -> None:
    start = change - timedelta(hours=2)
    expected = [start + number * QUARTER for number in range(6 * 4)]
    assert runs(LONDON, "watch", start, 6) == expected


@pytest.mark.parametrize(
    ("daily", "change", "expected"),
    [
        # In the missing hour, 01:00 to 02:00 in spring, the work comes when the hour is over.
        ("00:59", SPRING, "2031-03-30T00:59"),
        ("01:30", SPRING, "2031-03-30T01:30"),
        ("02:00", SPRING, "2031-03-30T01:00"),
        # In the hour that comes twice, 01:00 to 02:00 in autumn, it comes the first time only.
        ("00:59", AUTUMN, "2031-10-25T23:59"),
        ("01:30", AUTUMN, "2031-10-26T00:30"),
        ("02:00", AUTUMN, "2031-10-26T02:00"),
    ],
)
def test_work_in_the_changed_hour_is_done_once(daily: str, change: datetime, expected: str) -> None:
    garden = make_garden(zone="Europe/London", hours={"daily": daily})
    _yesterdays, *ran = runs(garden, "outlook", change - timedelta(hours=2), 6)
    assert ran == [moment(expected)]


def test_a_letter_in_the_hour_that_comes_twice_goes_out_once() -> None:
    hours = {"weekly_on": "sun", "weekly": "01:15"}
    garden = make_garden(zone="Europe/London", hours=hours)
    _last_weeks, *ran = runs(garden, "letter", AUTUMN - timedelta(hours=2), 6)
    assert ran == [moment("2031-10-26T00:15")]


def test_several_missed_periods_are_due_once_for_the_last_of_them() -> None:
    finished = moment("2031-06-01T05:30")
    ledger: dict[str, datetime] = dict.fromkeys(ORDER, finished)
    now = moment("2031-06-20T12:05")  # a Friday; power was out for 19 days
    assert due(LONDON, ledger, now) == [
        Due("outlook", moment("2031-06-20T05:30")),
        Due("compact", moment("2031-06-20T02:10")),
        Due("backup", moment("2031-06-20T02:10")),
        Due("watch", moment("2031-06-20T12:00")),
        Due("letter", moment("2031-06-13T16:00")),
    ]


def test_a_forecast_is_fetched_once_an_hour_from_its_address() -> None:
    fetched = runs(FETCHING, "forecast", moment("2031-03-30T00:00"), 6)
    assert [at.strftime("%H:%M") for at in fetched] == [
        *("23:20", "00:20", "01:20", "02:20", "03:20", "04:20", "05:20")
    ]


def test_a_forecast_that_the_broker_carries_is_not_fetched() -> None:
    garden = make_garden(forecast={"topic": "plum-lane/forecast", **POINTERS})
    assert runs(garden, "forecast", moment("2031-03-30T00:00"), 6) == []


def test_a_mirror_is_sent_to_once_an_hour_through_a_change() -> None:
    mirrored = make_garden(zone="Europe/London", mirror=MIRROR)
    sent = runs(mirrored, "mirror", SPRING - timedelta(hours=1), 3)
    assert [at.strftime("%H:%M") for at in sent] == ["22:05", "23:05", "00:05", "01:05"]
    assert runs(LONDON, "mirror", SPRING, 3) == []


def test_a_backup_is_made_once_a_night_through_both_changes() -> None:
    for change in (SPRING, AUTUMN):
        made = runs(LONDON, "backup", change - timedelta(hours=12), 48)
        local = [at.astimezone(LONDON.garden.zone).strftime("%d %H:%M") for at in made]
        first = change.astimezone(LONDON.garden.zone).day - 1
        assert local == [f"{day} 03:10" for day in range(first, first + 3)]


def test_what_was_done_is_not_due_again() -> None:
    now = moment("2031-06-20T12:05")
    ledger = dict(EMPTY)
    for one in due(LONDON, EMPTY, now):
        ledger[one.job] = one.period
    assert due(LONDON, ledger, now) == []
    assert due(LONDON, ledger, now + timedelta(minutes=9)) == []
    assert [one.job for one in due(LONDON, ledger, now + timedelta(minutes=10))] == ["watch"]


def test_a_period_later_than_now_stands_in_the_ledger_after_the_clock_was_put_back() -> None:
    now = moment("2031-06-20T12:05")
    ledger: dict[str, datetime] = dict.fromkeys(ORDER, now + timedelta(days=1))
    assert due(LONDON, ledger, now) == []


@given(
    now=st.datetimes(datetime(2026, 1, 1), datetime(2040, 12, 31), timezones=st.just(UTC)),  # noqa: DTZ001 - hypothesis adds the time zone
    zone=st.sampled_from(["Europe/London", "Asia/Kathmandu", "Australia/Lord_Howe", "UTC"]),
)
def test_due_jobs_come_in_one_order_and_never_early(now: datetime, zone: str) -> None:
    jobs = due(make_garden(zone=zone, forecast=FETCHED, mirror=MIRROR), EMPTY, now)
    order = ["forecast", "outlook", "compact", "backup", "watch", "letter", "mirror"]
    assert [one.job for one in jobs] == list(ORDER) == order
    assert all(one.period <= now for one in jobs)


# A stored day that came at 09:12 is worked out when no more of it has come for five minutes, once,
# for the period that has been finished.
def test_late_readings_make_the_outlook_due_again() -> None:
    finished: JobName = "outlook"
    last, late = moment("2031-01-15T06:30"), moment("2031-01-15T09:12")
    others = {"watch": moment("2031-01-15T09:15"), "letter": moment("2031-01-10T17:00")}
    others["compact"] = others["backup"] = moment("2031-01-15T03:10")
    ledger = {finished: last, **others, "late-readings": late}
    wanted = [Due("outlook", last, again=True)]
    assert due(LONDON, ledger, moment("2031-01-15T09:16")) == []
    assert due(LONDON, ledger, moment("2031-01-15T09:17")) == wanted
    caught_up = {**ledger, "caught-up": moment("2031-01-15T09:17")}
    assert due(LONDON, caught_up, moment("2031-01-15T09:18")) == []
    # In the morning it is due anyway, and not twice.
    (once,) = [
        one for one in due(LONDON, ledger, moment("2031-01-16T06:30")) if one.job == "outlook"
    ]
    assert once == Due("outlook", moment("2031-01-16T06:30"))


def test_a_leap_day_is_a_day_like_others() -> None:
    garden = make_garden(zone="Europe/London")
    _yesterdays, *ran = runs(garden, "outlook", moment("2032-02-28T00:00"), 72)
    assert [f"{at:%m-%d}" for at in ran] == ["02-28", "02-29", "03-01"]


# The garden moves from London to Auckland, twelve hours ahead in winter: half past six comes at
# 18:30 UTC the day before, and the letter of Friday at 17:00 there is at 05:00 UTC.
def test_a_change_of_zone_does_nothing_twice_and_leaves_nothing_out() -> None:
    moved = make_garden(zone="Pacific/Auckland")
    ledger: dict[str, datetime] = dict.fromkeys(ORDER, moment("2031-06-20T05:30"))
    ledger["letter"] = moment("2031-06-13T16:00")
    now = moment("2031-06-20T12:00")
    assert [one.job for one in due(moved, ledger, now)] == ["watch", "letter"]
    ledger["letter"] = moment("2031-06-20T05:00")
    evening = due(moved, ledger, moment("2031-06-20T19:00"))
    assert Due("outlook", moment("2031-06-20T18:30")) in evening
    assert "letter" not in [one.job for one in evening]
