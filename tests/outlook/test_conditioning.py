"""The first days of an ensemble follow a forecast; how closely, hangs on the lead."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest

from steepwell.garden.weather import Normals
from steepwell.outlook.conditioning import condition
from steepwell.outlook.et0 import daily_et0_mm
from steepwell.outlook.generator import generate
from steepwell.outlook.normals import daily_normals
from steepwell.outlook.weather import Weather
from steepwell.sense.forecast import ForecastDay, ForecastDays

if TYPE_CHECKING:
    from numpy.typing import NDArray

FIRST = date(2031, 6, 10)
DAYS, MEMBERS = 20, 500
PLACE_DEG = 51.0
NO_BIAS = np.ones(12)
# On the mean 2.5 mm and 16 °C a day in June, wet on 11 days of it.
NORMALS = daily_normals(
    Normals(rain_mm=(75.0,) * 12, wet_days=(11.0,) * 12, tmin_c=(11.0,) * 12, tmax_c=(21.0,) * 12)
)


def ensemble() -> Weather:
    rain, tmin, tmax = generate(NORMALS, FIRST, DAYS, MEMBERS, seed=1)
    et0 = daily_et0_mm(tmin, tmax, FIRST, latitude_deg=PLACE_DEG, bias=NO_BIAS)
    return Weather(rain, (tmin + tmax) / 2, et0)


USUAL = ensemble()


def forecast(
    days: int,
    *,
    rain_mm: float = 0.0,
    tmin_c: float = 11.0,
    tmax_c: float = 21.0,
    issued: date = FIRST,
) -> ForecastDays:
    """Return a forecast of days that are all alike."""
    ahead = [issued + timedelta(days=lead) for lead in range(days)]
    return ForecastDays(issued, tuple(ForecastDay(day, rain_mm, tmin_c, tmax_c) for day in ahead))


def conditioned(told: ForecastDays, *, seed: int = 1, weather: Weather = USUAL) -> Weather:
    return condition(weather, told, FIRST, latitude_deg=PLACE_DEG, bias=NO_BIAS, seed=seed)


def ranks(values: NDArray[np.float64]) -> NDArray[np.intp]:
    return values.argsort(kind="stable").argsort(kind="stable")


def test_the_mean_follows_the_forecast_on_the_first_day() -> None:
    # 30 mm and 10 to 14 °C, where 2.5 mm and 11 to 21 °C are usual: a weight of 0.95 for rain, and
    # a correlation of 0.9 or more for temperature, by errors of 1.2 °C against 3 to 4 °C.
    near = conditioned(forecast(1, rain_mm=30.0, tmin_c=10.0, tmax_c=14.0))
    assert near.rain_mm[0].mean() == pytest.approx(0.95 * 30 + 0.05 * USUAL.rain_mm[0].mean())
    assert near.mean_c[0].mean() == pytest.approx(12.0, abs=0.5)
    by_forecast = daily_et0_mm(
        np.array([10.0]), np.array([14.0]), FIRST, latitude_deg=PLACE_DEG, bias=NO_BIAS
    )
    assert near.et0_mm[0].mean() == pytest.approx(by_forecast[0], abs=0.4)
    assert USUAL.et0_mm[0].mean() > by_forecast[0] + 1.0


def test_the_mean_comes_back_to_the_usual_within_ten_days() -> None:
    far = conditioned(forecast(20, rain_mm=20.0, tmin_c=18.0, tmax_c=34.0))
    warmer = far.mean_c.mean(axis=1) - USUAL.mean_c.mean(axis=1)
    wetter = far.rain_mm.mean(axis=1) - USUAL.rain_mm.mean(axis=1)
    # 10 °C and 17.5 mm more were forecast for each day.
    assert warmer[0] > 9.0
    assert wetter[0] > 16.0
    for excess in (warmer, wetter):
        assert (np.diff(excess[:10]) < 1.0).all()
        assert 0.0 < excess[9] < 0.6 * excess[0]
    for ours, theirs in (
        (far.rain_mm, USUAL.rain_mm),
        (far.mean_c, USUAL.mean_c),
        (far.et0_mm, USUAL.et0_mm),
    ):
        np.testing.assert_array_equal(ours[10:], theirs[10:])


def test_the_error_grows_with_the_lead() -> None:
    near = conditioned(forecast(10, rain_mm=8.0))
    spread = near.mean_c[:10].std(axis=1)
    # Errors of daily mean temperature: 1.2 °C at once and 2.5 °C after four days (from memory).
    assert spread[0] == pytest.approx(1.2, abs=0.15)
    assert spread[4] == pytest.approx(2.4, abs=0.3)
    assert spread[8] > spread[4] > spread[0]
    # What falls if it rains: half as much again at first, as much again after a week.
    amounts = [near.rain_mm[day][near.rain_mm[day] > 0.0] for day in (0, 8)]
    assert [wet.std() / wet.mean() for wet in amounts] == pytest.approx([0.5, 1.0], abs=0.12)


@pytest.mark.parametrize(
    ("rain_mm", "least", "most"),
    # Rain in 1 of 20 when none was forecast for today, in 19 of 20 when much was (from memory).
    [(0.0, 0.04, 0.09), (0.5, 0.3, 0.5), (2.0, 0.7, 0.9), (15.0, 0.9, 0.97)],
)
def test_rain_is_as_likely_as_its_forecast_makes_it(
    rain_mm: float, least: float, most: float
) -> None:
    near = conditioned(forecast(8, rain_mm=rain_mm))
    wet = (near.rain_mm > 0.0).mean(axis=1)
    assert least <= wet[0] <= most
    usual = (USUAL.rain_mm[7] > 0.0).mean()
    assert abs(wet[7] - usual) < abs(wet[0] - usual) + 0.05


def test_members_keep_their_order() -> None:
    near = conditioned(forecast(5, rain_mm=6.0, tmin_c=12.0, tmax_c=26.0))
    for day in range(5):
        np.testing.assert_array_equal(ranks(near.mean_c[day]), ranks(USUAL.mean_c[day]))
        np.testing.assert_array_equal(ranks(near.et0_mm[day]), ranks(USUAL.et0_mm[day]))
        was_wet, is_wet = USUAL.rain_mm[day] > 0.0, near.rain_mm[day] > 0.0
        assert is_wet[was_wet].all()
        both = np.flatnonzero(was_wet)
        np.testing.assert_array_equal(
            ranks(near.rain_mm[day][both]), ranks(USUAL.rain_mm[day][both])
        )


def test_a_forecast_of_no_rain_takes_it_from_the_driest_members_first() -> None:
    dry = conditioned(forecast(1))
    left = np.flatnonzero(dry.rain_mm[0] > 0.0)
    assert 0 < len(left) < 50
    assert USUAL.rain_mm[0][left].min() >= np.sort(USUAL.rain_mm[0])[-len(left)]


def test_a_forecast_of_yesterday_counts_by_its_lead() -> None:
    told = forecast(4, rain_mm=30.0, issued=FIRST - timedelta(days=2))
    near = conditioned(told)
    fresh = conditioned(forecast(2, rain_mm=30.0))
    assert near.mean_c[0].std() > fresh.mean_c[0].std()
    assert near.rain_mm[0].mean() < fresh.rain_mm[0].mean()
    np.testing.assert_array_equal(near.rain_mm[2:], USUAL.rain_mm[2:])


def test_the_ensemble_given_is_left_as_it_was() -> None:
    before = USUAL.rain_mm.copy()
    conditioned(forecast(5, rain_mm=9.0))
    np.testing.assert_array_equal(USUAL.rain_mm, before)


def test_equal_seeds_give_equal_members() -> None:
    told = forecast(5, rain_mm=9.0)
    one, same, other = (conditioned(told, seed=seed) for seed in (1, 1, 2))
    np.testing.assert_array_equal(one.rain_mm, same.rain_mm)
    np.testing.assert_array_equal(one.mean_c, same.mean_c)
    assert (one.rain_mm[:5] != other.rain_mm[:5]).any()


def test_members_that_are_all_alike_get_the_error_of_the_forecast() -> None:
    flat = Weather(np.zeros((3, 400)), np.full((3, 400), 16.0), np.full((3, 400), 3.0))
    near = conditioned(forecast(1, rain_mm=5.0), weather=flat)
    assert near.mean_c[0].std() == pytest.approx(1.2, rel=0.2)
    assert near.rain_mm[0].mean() == pytest.approx(0.95 * 5.0)
    assert (near.et0_mm >= 0.0).all()


@pytest.mark.parametrize("members", [1, 2])
def test_the_smallest_ensembles_are_conditioned_too(members: int) -> None:
    few = Weather(*(values[:, :members] for values in (USUAL.rain_mm, USUAL.mean_c, USUAL.et0_mm)))
    near = conditioned(forecast(3, rain_mm=5.0), weather=few)
    assert np.isfinite(near.rain_mm + near.mean_c + near.et0_mm).all()
