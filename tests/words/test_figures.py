from __future__ import annotations

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from steepwell.words import figures

# Days of the week by the calendar of 1976, which began on a Thursday.
FIRST = date(1976, 1, 1)
MONTHS = "January February March April May June July August September October November December"
WEEKDAYS = "Thursday Friday Saturday Sunday Monday Tuesday Wednesday"


@pytest.mark.parametrize(("number", "name"), [*enumerate(MONTHS.split(), start=1)])
def test_a_day_is_its_number_and_its_month(number: int, name: str) -> None:
    assert figures.day(date(1976, number, 9)) == f"9 {name}"
    assert figures.short_day(date(1976, number, 9)) == f"9 {name[:3]}"


@pytest.mark.parametrize(("ahead", "name"), [*enumerate(WEEKDAYS.split())])
def test_a_day_of_the_week_is_told_by_its_name(ahead: int, name: str) -> None:
    assert figures.weekday(FIRST + timedelta(days=ahead)) == f"{name} {1 + ahead} January"


def test_a_moment_is_told_in_the_zone_it_comes_in() -> None:
    at = datetime(1976, 7, 9, 4, 5, tzinfo=ZoneInfo("Europe/Brussels"))
    assert figures.moment(at) == "9 July at 04:05"


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ([], ""),
        (["beans"], "beans"),
        (["beans", "peas"], "beans and peas"),
        (["beans", "peas", "leeks"], "beans, peas and leeks"),
    ],
)
def test_names_are_joined_as_they_are_spoken(words: list[str], told: str) -> None:
    assert figures.joined(words) == told
