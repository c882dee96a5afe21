from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta

import pytest

from steepwell.garden.growing import Vessel
from steepwell_sim.world.steep import Steep, follow, lag_h, pace, parts, true_vessel

START = datetime(2031, 5, 1, 18, tzinfo=UTC)


@pytest.mark.parametrize("hours", [1, 8, 40])
def test_hour_by_hour_is_newtons_law(hours: int) -> None:
    vessel = true_vessel(
        Vessel.model_validate({"name": "vessel", "volume": "100 L"}), lag=1.2, sun=1.0, air_c=5.0
    )
    for hour in range(hours):
        vessel.pass_hour(20.0, 0.0, START + timedelta(hours=hour))
    # The analytic answer to a step from 5 to 20 °C.
    assert vessel.temperature_c == pytest.approx(20 - 15 * math.exp(-hours / vessel.lag_h))


def test_after_one_time_constant_37_percent_of_a_step_is_left() -> None:
    assert follow(0.0, 10.0, 12.0, 12.0) == pytest.approx(10 * (1 - 1 / math.e))


def test_time_constant_of_a_bin() -> None:
    # By hand: 100 L as high as wide is 0.503 m across, 1.193 m² round; 418.6 kJ/K, 11.93 W/K.
    assert lag_h(100.0, "none") == pytest.approx(9.75, abs=0.02)
    assert lag_h(100.0, "sunk") > lag_h(100.0, "jacketed") > lag_h(100.0, "none")
    assert lag_h(800.0, "none") == pytest.approx(2 * lag_h(100.0, "none"))


@pytest.mark.parametrize(
    ("temperature_c", "against_10_c"),
    # Lloyd and Taylor (1994), eq. 11: R/R10.
    [
        (5.0, 0.58287),
        (10.0, 1.0),
        (15.0, 1.57040),
        (20.0, 2.30320),
        (25.0, 3.20061),
        (30.0, 4.25928),
    ],
)
def test_pace_of_ageing(temperature_c: float, against_10_c: float) -> None:
    assert pace(temperature_c) / pace(10.0) == pytest.approx(against_10_c, abs=2e-5)


def test_pace_is_one_at_17_nothing_in_frost_and_held_above_30() -> None:
    assert pace(17.0) == pytest.approx(1.0)
    assert pace(0.0) == pace(-5.0) == 0
    assert pace(38.0) == pace(30.0)


def age(temperature_c: float, days: int) -> Steep:
    steep = Steep(started=START, liquid_l=50.0)
    for hour in range(1, 24 * days + 1):
        steep.grow_older(temperature_c, START + timedelta(hours=hour), 1.0)
    return steep


@pytest.mark.parametrize(
    ("temperature_c", "ready_d"),
    [
        (17.0, 14.0),  # two weeks in a warm month: common practice, no source
        (30.0, 10.0),  # never before ten days on the calendar
        (10.0, 25.8),  # by hand: 14 d times exp(308.56 (1/56.02 - 1/63.02))
    ],
)
def test_when_it_is_ready(temperature_c: float, ready_d: float) -> None:
    steep = age(temperature_c, 40)
    assert steep.ready_at is not None
    assert steep.days(steep.ready_at) == pytest.approx(ready_d, abs=0.3)


def test_dilution() -> None:
    assert parts(14.0) == pytest.approx(30.0)  # 1:30 at two weeks: common practice, no source
    # By hand: 30 (1 - e^-0.1) / (1 - e^-0.014).
    assert parts(100.0) == pytest.approx(205.3, abs=0.1)
    fresh, old = age(17.0, 5), age(10.0, 366)
    assert fresh.dilution_parts(START + timedelta(days=5)) is None
    assert old.dilution_parts(START + timedelta(days=366)) == 500  # common practice ends at a year


def test_filling_draws_the_temperature_of_the_water_and_ends_the_steep_before() -> None:
    vessel = true_vessel(
        Vessel.model_validate({"name": "vessel", "volume": "100 L"}), lag=1, sun=1, air_c=5.0
    )
    vessel.fill(START, 90.0, 12.0)
    vessel.fill(START + timedelta(days=30), 80.0, 15.0)
    assert vessel.temperature_c == 15
    assert [steep.started for steep in vessel.past] == [START]
    assert vessel.draw(100.0) == 80
    vessel.empty()
    assert vessel.draw(1.0) == 0
