"""Members of future weather are unbroken windows of the record."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.gardens import flat_record

from steepwell.errors import WeatherRecordError
from steepwell.outlook.bridging import same_day
from steepwell.outlook.record import Record
from steepwell.outlook.weather import Weather, draw_weather

if TYPE_CHECKING:
    from numpy.typing import NDArray

LONDON_DEG = 51.5


def numbered_record(first: date, last: date) -> Record:
    """Return a record that has the running number of a day as its rain and temperatures."""
    days = np.arange((last - first).days + 1, dtype=float)
    return Record(first, days, days, days, np.full(len(days), np.nan))


def drawn(
    record: Record, first: date, days: int, members: int, *, seed: int = 1
) -> tuple[Weather, NDArray[np.float64]]:
    """Return members, and the number of the first day of each."""
    weather = draw_weather(record, first, days, members, latitude_deg=LONDON_DEG, seed=seed)
    return weather, weather.rain_mm[0]


ELEVEN_YEARS = numbered_record(date(2000, 1, 1), date(2010, 12, 31))


@given(
    first=st.dates(date(2026, 1, 1), date(2036, 12, 31)),
    days=st.integers(1, 120),
    members=st.integers(1, 60),
    seed=st.integers(0, 2**32 - 1),
)
def test_members_are_unbroken_and_begin_near_the_calendar_day(
    first: date, days: int, members: int, seed: int
) -> None:
    weather, starts = drawn(ELEVEN_YEARS, first, days, members, seed=seed)
    assert weather.rain_mm.shape == weather.mean_c.shape == weather.et0_mm.shape == (days, members)
    assert (np.diff(weather.rain_mm, axis=0) == 1.0).all()
    np.testing.assert_array_equal(weather.mean_c, weather.rain_mm)
    for start in starts:
        begins = ELEVEN_YEARS.first + timedelta(days=int(start))
        years = range(begins.year - 1, begins.year + 2)
        assert min(abs((begins - same_day(first, year)).days) for year in years) <= 15


@pytest.mark.parametrize("first", [date(2031, 6, 10), date(2031, 5, 10)])
def test_a_window_begins_within_fifteen_days(first: date) -> None:
    _, starts = drawn(ELEVEN_YEARS, first, 10, 2200)
    begin = [ELEVEN_YEARS.first + timedelta(days=int(start)) for start in starts]
    apart = {(day - first.replace(year=day.year)).days for day in begin}
    assert apart == set(range(-15, 16))


@pytest.mark.parametrize(("members", "expected"), [(11, {1}), (110, {10}), (500, {45, 46})])
def test_years_come_equally_often(members: int, expected: set[int]) -> None:
    _, starts = drawn(ELEVEN_YEARS, date(2031, 6, 10), 30, members)
    years = Counter((ELEVEN_YEARS.first + timedelta(days=int(start))).year for start in starts)
    assert len(years) == 11
    assert set(years.values()) == expected


def test_equal_seeds_draw_equal_futures() -> None:
    day = date(2031, 6, 10)
    first, again, other = (drawn(ELEVEN_YEARS, day, 30, 100, seed=seed)[0] for seed in (3, 3, 4))
    np.testing.assert_array_equal(first.rain_mm, again.rain_mm)
    np.testing.assert_array_equal(first.et0_mm, again.et0_mm)
    assert (first.rain_mm != other.rain_mm).any()


def test_a_year_taken_out_is_never_bridged() -> None:
    record = numbered_record(date(2000, 1, 1), date(2010, 12, 31))
    for hole, column in ((2003, record.rain_mm), (2003, record.tmax_c)):
        begin = (date(hole, 1, 1) - record.first).days
        column[begin : begin + 365] = np.nan
    weather, starts = drawn(record, date(2031, 6, 10), 60, 500)
    assert (np.diff(weather.rain_mm, axis=0) == 1.0).all()
    years = {(record.first + timedelta(days=int(start))).year for start in starts}
    assert years == set(range(2000, 2011)) - {2003}


@pytest.mark.parametrize("column", ["rain_mm", "tmin_c", "tmax_c"])
def test_a_single_missing_value_is_never_bridged(column: str) -> None:
    record = flat_record()
    missing = (date(2005, 6, 20) - record.first).days
    getattr(record, column)[missing] = np.nan
    weather = draw_weather(record, date(2031, 6, 10), 30, 1000, latitude_deg=LONDON_DEG, seed=1)
    assert not np.isnan(weather.rain_mm + weather.mean_c + weather.et0_mm).any()


@pytest.mark.parametrize(
    ("first", "last", "issued", "years"),
    [
        (date(2001, 1, 1), date(2009, 12, 31), date(2031, 6, 10), 9),
        # Ten years, but 120 days from 1 December of the last one are not in the record.
        (date(2000, 1, 1), date(2009, 12, 31), date(2031, 12, 1), 9),
        (date(2009, 1, 1), date(2009, 3, 31), date(2031, 6, 10), 0),
    ],
)
def test_fewer_than_ten_years_are_refused(
    first: date, last: date, issued: date, years: int
) -> None:
    record = flat_record(first, last)
    words = f"has {years} years with 120 unbroken days from {issued:%d %B}.*needs 10 or more"
    with pytest.raises(WeatherRecordError, match=words):
        draw_weather(record, issued, 120, 100, latitude_deg=LONDON_DEG, seed=1)


def test_ten_years_are_enough() -> None:
    record = flat_record(date(2000, 1, 1), date(2009, 12, 31), rain_mm=2.0)
    weather = draw_weather(record, date(2031, 6, 10), 120, 20, latitude_deg=LONDON_DEG, seed=1)
    assert (weather.rain_mm == 2.0).all()
    assert (weather.mean_c == 15.0).all()


def test_evapotranspiration_is_that_of_the_day_and_place() -> None:
    # FAO-56, Example 20, p. 78: Lyon, 45°43' N, July, 26.6 and 14.8 °C: 5.0 mm/d by eq. 52.
    record = flat_record(tmin_c=14.8, tmax_c=26.6)
    weather = draw_weather(record, date(2031, 7, 15), 1, 10, latitude_deg=45 + 43 / 60, seed=1)
    assert weather.et0_mm == pytest.approx(np.full((1, 10), 5.0), abs=0.05)
