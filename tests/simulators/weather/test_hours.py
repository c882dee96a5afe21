from __future__ import annotations

import random
from datetime import date, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING

import pandas as pd
import pyet
import pytest
from hypothesis import given
from hypothesis import strategies as st

from steepwell_sim.weather.hours import hours_of_day, spread_rain, turc_mm
from steepwell_sim.weather.record import Day

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden

SPRING_FORWARD, FALL_BACK = date(2031, 3, 30), date(2031, 10, 26)


@pytest.mark.parametrize("step", range(0, 360, 13))
def test_a_day_keeps_its_totals_and_extremes(
    garden: Garden, dry_year: dict[date, Day], step: int
) -> None:
    day = date(2031, 1, 3) + timedelta(days=step)
    before, hours = (
        hours_of_day(dry_year, when, garden.garden, seed=1)
        for when in (day - timedelta(days=1), day)
    )
    air = [before[-1].end_air_c, *(hour.end_air_c for hour in hours[:-1])]
    assert sum(hour.rain_mm for hour in hours) == pytest.approx(dry_year[day].rain_mm)
    assert min(air) == pytest.approx(dry_year[day].tmin_c)
    assert max(air) == pytest.approx(dry_year[day].tmax_c)


def test_evapotranspiration_of_the_record_comes_before_a_formula(garden: Garden) -> None:
    record = {date(2031, 6, 1): Day(0.0, 8.0, 20.0, et0_mm=4.4)}
    hours = hours_of_day(record, date(2031, 6, 1), garden.garden, seed=1)
    assert sum(hour.et0_mm for hour in hours) == pytest.approx(4.4)
    assert hours[0].et0_mm == 0  # midnight
    assert max(hours, key=lambda hour: hour.et0_mm).start.hour in {11, 12}  # solar noon, UTC


@pytest.mark.parametrize(
    ("day", "count"), [(SPRING_FORWARD, 23), (FALL_BACK, 25), (date(2031, 6, 1), 24)]
)
def test_hours_follow_the_clock_on_the_wall(
    garden: Garden, dry_year: dict[date, Day], day: date, count: int
) -> None:
    hours = hours_of_day(dry_year, day, garden.garden, seed=1)
    assert len(hours) == count
    assert all(one.end == two.start for one, two in pairwise(hours))
    assert hours[0].start.astimezone(garden.garden.zone).date() == day


def test_nights_join_where_the_days_allow_it(garden: Garden) -> None:
    days = [date(2031, 6, day) for day in (1, 2, 3)]
    record = dict.fromkeys(days, Day(0.0, 8.0, 22.0))
    evening = hours_of_day(record, days[1], garden.garden, seed=1)
    steps = [abs(hour.end_air_c - before.end_air_c) for before, hour in pairwise(evening)]
    assert max(steps) < 3.0  # 14 K between dawn and mid-afternoon: no hour leaps


@given(
    rain_mm=st.floats(0.0, 200.0),
    hours=st.integers(23, 25),
    seed=st.integers(0, 10_000),
)
def test_rain_is_spread_without_loss(rain_mm: float, hours: int, seed: int) -> None:
    spread = spread_rain(rain_mm, hours, random.Random(seed))  # noqa: S311 - a simulation
    assert len(spread) == hours
    assert min(spread) >= 0
    assert sum(spread) == pytest.approx(rain_mm)


@pytest.mark.parametrize(("tmin_c", "tmax_c", "sun"), [(10, 20, 15.0), (15, 30, 25.0), (0, 8, 5.0)])
def test_turc_agrees_with_a_library(tmin_c: float, tmax_c: float, sun: float) -> None:
    when = pd.date_range("2031-06-01", periods=1)
    mean = pd.Series([(tmin_c + tmax_c) / 2], index=when)
    expected = pyet.turc(mean, pd.Series([sun], index=when), pd.Series([70.0], index=when))
    assert turc_mm(Day(0.0, tmin_c, tmax_c), sun) == pytest.approx(
        float(expected.iloc[0]), rel=0.01
    )


def test_nothing_evaporates_in_a_frost() -> None:
    assert turc_mm(Day(0.0, -8.0, -1.0), 5.0) == 0
