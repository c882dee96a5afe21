"""Monthly normals as daily curves: months keep their means, and nothing jumps."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from steepwell.garden.weather import Normals
from steepwell.outlook.normals import daily_normals, day_of_leap_year, never_negative, smooth

if TYPE_CHECKING:
    from numpy.typing import NDArray

LONGEST_D = (31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
MONTH_OF_DAY = np.repeat(np.arange(12), LONGEST_D)

# Of an invented place that is a little like Brussels.
NORMALS = Normals(
    rain_mm=(77, 60, 72, 55, 66, 75, 76, 69, 65, 71, 75, 82),
    wet_days=(13, 11.5, 13, 10.5, 10.5, 11, 9.5, 9, 10, 10.5, 12.5, 13),
    tmin_c=(1, 1, 3.5, 5, 9, 11.5, 13.5, 13.5, 11, 8, 4, 2),
    tmax_c=(5.5, 6.5, 10, 13.5, 18, 20.5, 22.5, 22.5, 19, 14.5, 9.5, 6.5),
)


def monthly(curve: NDArray[np.float64]) -> list[float]:
    return list(np.bincount(MONTH_OF_DAY, curve) / LONGEST_D)


twelve = st.lists(st.floats(-40, 40), min_size=12, max_size=12)
twelve_amounts = st.lists(st.just(0.0) | st.floats(0.001, 20), min_size=12, max_size=12)


@given(twelve)
def test_every_month_keeps_its_mean(means: list[float]) -> None:
    curve = smooth(np.array(means))
    assert len(curve) == 366
    assert monthly(curve) == pytest.approx(means, abs=1e-9)


@given(twelve_amounts)
def test_amounts_keep_their_means_and_are_never_negative(means: list[float]) -> None:
    curve = never_negative(np.array(means))
    assert (curve >= 0.0).all()
    assert monthly(curve) == pytest.approx(means, abs=1e-9)


def test_the_curve_has_no_step_at_the_ends_of_months_or_of_the_year() -> None:
    daily = daily_normals(NORMALS)
    for curve, widest in ((daily.tmin_c, 0.2), (daily.tmax_c, 0.2), (daily.rain_mm, 0.1)):
        round_the_year = np.append(curve, curve[0])
        assert np.abs(np.diff(round_the_year)).max() < widest


def test_a_month_of_rain_is_that_of_its_normal() -> None:
    daily = daily_normals(NORMALS)
    rain = np.bincount(MONTH_OF_DAY, daily.rain_mm)
    wet = np.bincount(MONTH_OF_DAY, daily.wet_share)
    assert rain == pytest.approx(NORMALS.rain_mm)
    assert wet == pytest.approx(NORMALS.wet_days)


def test_what_is_usual_on_a_day() -> None:
    daily = daily_normals(NORMALS)
    rain, tmin, tmax = daily.normal(date(2031, 7, 16))
    # The middle of July is a little warmer than its mean.
    assert rain == pytest.approx(76 / 31, rel=0.05)
    assert (13.5 < tmin < 14.0, 22.5 < tmax < 23.1) == (True, True)


@pytest.mark.parametrize(
    ("day", "at"),
    [
        (date(2031, 1, 1), 0),
        (date(2031, 2, 28), 58),
        (date(2032, 2, 29), 59),
        (date(2031, 3, 1), 60),
        (date(2031, 12, 31), 365),
        (date(2032, 12, 31), 365),
    ],
)
def test_days_are_counted_as_in_a_leap_year(day: date, at: int) -> None:
    assert day_of_leap_year(day) == at


def test_a_wet_day_on_every_day_stays_possible() -> None:
    soaked = NORMALS.model_copy(update={"wet_days": tuple(float(days) for days in LONGEST_D)})
    assert daily_normals(soaked).wet_share == pytest.approx(np.ones(366))
