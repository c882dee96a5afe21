from __future__ import annotations

from datetime import date, timedelta

from steepwell.outlook.days import (
    LEAP_YEAR_D,
    days_from,
    days_of_year,
    leap_positions,
    months_of,
    same_days,
)

# Through a leap year, a common one and the century that is not one.
FIRST, COUNT = date(1896, 1, 1), 4 * 366 + 8 * 365
DATES = [FIRST + timedelta(days=day) for day in range(COUNT)]
DAYS = days_from(FIRST, COUNT)


def test_months_and_days_of_the_year_are_those_of_the_calendar() -> None:
    assert DAYS.tolist() == DATES
    assert months_of(DAYS).tolist() == [day.month for day in DATES]
    assert days_of_year(DAYS).tolist() == [day.timetuple().tm_yday for day in DATES]


def test_a_day_lies_in_a_leap_year_where_its_name_does() -> None:
    positions = leap_positions(DAYS).tolist()
    assert positions == [(day.replace(year=2000) - date(2000, 1, 1)).days for day in DATES]


def test_29_february_is_1_march_in_a_common_year() -> None:
    days = same_days(1899, 1904)
    assert days.shape == (LEAP_YEAR_D, 6)
    assert days[59].tolist()[:2] == [date(1899, 3, 1), date(1900, 3, 1)]
    assert days[59].tolist()[-1] == date(1904, 2, 29)
    assert days[60].tolist()[0] == date(1899, 3, 1)
    assert days[-1].tolist() == [date(year, 12, 31) for year in range(1899, 1905)]
