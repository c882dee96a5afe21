"""Members of future weather are unbroken windows of the record."""

from __future__ import annotations

from collections import Counter
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.gardens import flat_record, make_garden, state_of, write_record

from steepwell.errors import WeatherRecordError
from steepwell.outlook.bridging import same_day
from steepwell.outlook.outlook import make_outlook
from steepwell.outlook.record import Record
from steepwell.outlook.weather import Weather, draw_weather, future_weather, known_weather

if TYPE_CHECKING:
    from pathlib import Path

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


# 3 mm on the mean of all days of a month, in every month.
NORMALS = {
    "rain_mm": [93, 87, 93, 90, 93, 90, 93, 93, 90, 93, 90, 93],
    "wet_days": [10] * 12,
    "tmin_c": [6] * 12,
    "tmax_c": [16] * 12,
}
JUNE = date(2031, 6, 10)


def test_a_garden_that_says_nothing_of_its_weather_has_no_record() -> None:
    assert known_weather(make_garden()) is None


def test_a_garden_of_normals_knows_what_is_usual() -> None:
    record = known_weather(make_garden(weather_record={"normals": NORMALS}))
    assert record is not None
    assert (record.days, record.years) == (0, 0)
    assert record.normal(JUNE) == pytest.approx((3.0, 6.0, 16.0))
    assert record.normal(date(2032, 2, 29)) == pytest.approx((3.0, 6.0, 16.0))


@pytest.mark.parametrize(("last", "usual"), [(2008, (3.0, 6.0, 16.0)), (2009, (1.0, 10.0, 20.0))])
def test_normals_stand_in_until_the_record_has_ten_years(
    tmp_path: Path, last: int, usual: tuple[float, float, float]
) -> None:
    short = flat_record(date(2000, 1, 1), date(last, 12, 31), rain_mm=1.0)
    write_record(tmp_path / "weather.csv", short)
    said = {"daily": "weather.csv", "normals": NORMALS}
    garden = make_garden(tmp_path, weather_record=said)
    record = known_weather(garden)
    assert record is not None
    assert record.normal(JUNE) == pytest.approx(usual)
    assert known_weather(garden) is record
    weather = future_weather(garden, record, JUNE, 60, 1000, seed=1)
    # 60 days of 1000 members, wet in runs: known to 2 %.
    assert weather.rain_mm.mean() == pytest.approx(usual[0], rel=0.06)
    assert weather.mean_c.mean() == pytest.approx((usual[1] + usual[2]) / 2, abs=0.2)


def test_without_normals_the_weather_is_drawn_from_the_record() -> None:
    garden = make_garden()
    ours = future_weather(garden, ELEVEN_YEARS, JUNE, 30, 100, seed=5)
    drawn_alone, _ = drawn(ELEVEN_YEARS, JUNE, 30, 100, seed=5)
    np.testing.assert_array_equal(ours.rain_mm, drawn_alone.rain_mm)
    short = flat_record(date(2000, 1, 1), date(2000, 12, 31))
    with pytest.raises(WeatherRecordError, match=r"has 1 years.*or monthly normals under"):
        future_weather(garden, short, JUNE, 30, 100, seed=5)


def test_made_weather_has_the_evapotranspiration_of_its_days() -> None:
    # FAO-56, Example 20, p. 78: Lyon in July, 26.6 and 14.8 °C: 5.0 mm/d by eq. 52. Days of that
    # mean that differ among themselves have a little less, for the range comes in by its root.
    normals = {**NORMALS, "tmin_c": [14.8] * 12, "tmax_c": [26.6] * 12}
    garden = make_garden(
        garden={
            "name": "plum-lane",
            "latitude": 45 + 43 / 60,
            "longitude": 4.9,
            "timezone": "Europe/Paris",
        },
        weather_record={"normals": normals},
    )
    record = known_weather(garden)
    assert record is not None
    weather = future_weather(garden, record, date(2031, 7, 15), 1, 4000, seed=1)
    assert weather.et0_mm.mean() == pytest.approx(5.0, rel=0.04)
    assert weather.rain_mm.shape == weather.mean_c.shape == weather.et0_mm.shape == (1, 4000)


def test_normals_are_enough_for_an_outlook() -> None:
    garden = make_garden(
        roof=[{"name": "shed", "area": "12 m2", "into": "north"}],
        weather_record={"normals": NORMALS},
    )
    record = known_weather(garden)
    assert record is not None
    state = state_of(garden, datetime(2031, 6, 10, 5, 30, tzinfo=UTC), litres=[20.0])
    document = make_outlook(garden, state, record, [], seed=1, members=100).document
    assert len(document["days"]) == 120
    fan = document["water"]["volume_l"]
    # About 2 mm a day on 12 m² and up to 3 mm wanted on 10 m²: now and then full, now and then dry.
    assert fan["p05"][-1] < fan["p50"][-1] < fan["p95"][-1]
