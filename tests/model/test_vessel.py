"""Vessels: the exact step toward the air, slower for the larger and the wrapped."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from steepwell.model.vessel import cool, mean_and_end, swing, time_constant_h

if TYPE_CHECKING:
    from collections.abc import Callable

temperatures = st.floats(-20.0, 40.0)


@given(start=temperatures, air=temperatures, hours=st.floats(0.0, 200.0), tau=st.floats(1.0, 100.0))
def test_two_half_steps_are_one_step(start: float, air: float, hours: float, tau: float) -> None:
    half = cool(start, air, hours=hours / 2.0, time_constant_h=tau)
    twice = cool(half, air, hours=hours / 2.0, time_constant_h=tau)
    assert cool(start, air, hours=hours, time_constant_h=tau) == pytest.approx(twice, abs=1e-9)


@given(start=temperatures, air=temperatures, hours=st.floats(0.0, 200.0))
def test_a_vessel_never_passes_the_air(start: float, air: float, hours: float) -> None:
    after = cool(start, air, hours=hours, time_constant_h=12.0)
    low, high = sorted((start, air))
    assert low - 1e-9 <= after <= high + 1e-9


def test_after_one_time_constant_all_but_1_over_e_has_gone() -> None:
    after = cool(25.0, 5.0, hours=12.0, time_constant_h=12.0)
    assert after == pytest.approx(5.0 + 20.0 / math.e)


def test_the_sun_holds_a_vessel_above_the_air() -> None:
    after = cool(5.0, 10.0, hours=1000.0, time_constant_h=12.0, sun_gain_c=3.0)
    assert after == pytest.approx(13.0)


@given(start=temperatures, air=temperatures, hours=st.floats(0.5, 48.0))
def test_the_mean_is_what_the_way_sums_to(start: float, air: float, hours: float) -> None:
    spans = 60
    ends = hours * (np.arange(spans) + 0.5) / spans
    way = [cool(start, air, hours=end, time_constant_h=12.0) for end in ends.tolist()]
    mean, end = mean_and_end(start, air, hours=hours, time_constant_h=12.0)
    assert mean == pytest.approx(np.mean(way), abs=0.02)
    assert end == pytest.approx(cool(start, air, hours=hours, time_constant_h=12.0))


def test_the_sun_raises_the_mean_too() -> None:
    both = mean_and_end(13.0, 10.0, hours=24.0, time_constant_h=12.0, sun_gain_c=3.0)
    assert both == pytest.approx((13.0, 13.0))  # in balance with air and sun from the start


def test_vessels_of_different_sizes_cool_at_once() -> None:
    constants = np.array([[6.0], [12.0]])
    start = np.full((2, 3), 20.0)
    after = cool(start, 10.0, hours=12.0, time_constant_h=constants)
    assert after[:, 0] == pytest.approx([10.0 + 10.0 / math.e**2, 10.0 + 10.0 / math.e])
    mean, end = mean_and_end(start, 10.0, hours=12.0, time_constant_h=constants)
    assert mean.shape == (2, 3)
    assert mean[0, 0] < mean[1, 0]
    assert end == pytest.approx(after)
    assert start == pytest.approx(20.0)  # what was given is left alone


def test_members_cool_at_once() -> None:
    after = cool(np.array([20.0, 10.0]), np.array([10.0, 20.0]), hours=6.0, time_constant_h=12.0)
    assert after.sum() == pytest.approx(30.0)  # by symmetry


def test_twice_the_size_in_each_direction_takes_twice_as_long() -> None:
    assert time_constant_h(80.0) == pytest.approx(2.0 * time_constant_h(10.0))  # volume x 8


def test_a_bare_vessel_of_60_litres_takes_about_eight_hours() -> None:
    # By hand: 60 L x 4186 J/(L K) / (0.85 m2 x 10 W/(m2 K)) = 29,600 s; conductance from memory.
    assert time_constant_h(60.0) == pytest.approx(8.2, abs=0.1)


def test_wrapping_and_sinking_slow_a_vessel() -> None:
    bare = time_constant_h(60.0, "none")
    assert bare < time_constant_h(60.0, "jacketed") < time_constant_h(60.0, "sunk")


def through(hours: int, tau: float, air: Callable[[float], float]) -> list[float]:
    """Return the temperature of a vessel after each hour of an air that changes by the minute."""
    temperature, ends = 10.0, []
    for hour in range(hours):
        for minute in range(0, 60, 2):
            now = air(hour + (minute + 1) / 60.0)
            temperature = cool(temperature, now, hours=2.0 / 60.0, time_constant_h=tau)
        ends.append(temperature)
    return ends


@pytest.mark.parametrize("tau", [4.0, 8.2, 30.0])
def test_a_swing_of_the_air_comes_smaller_and_later(tau: float) -> None:
    # Exact for a sinusoid: amplitude 1/√(1 + (ωτ)²), phase atan ωτ, with ω = 2π/24 h.
    omega = 2.0 * math.pi / 24.0
    hours = round(24 * (10 + 5 * tau / 24))
    ends = through(hours, tau, lambda hour: 10.0 + 6.0 * math.sin(omega * hour))
    share, lag_h = swing(tau)
    assert share == pytest.approx(1.0 / math.sqrt(1.0 + (omega * tau) ** 2))
    assert lag_h == pytest.approx(math.atan(omega * tau) / omega)
    exact = [10.0 + 6.0 * share * math.sin(omega * (hour + 1 - lag_h)) for hour in range(hours)]
    assert ends[-24:] == pytest.approx(exact[-24:], abs=0.01)


def test_cooling_is_that_of_the_differential_equation() -> None:
    # SciPy's solve_ivp on dT/dt = (air + gain - T)/τ with air that falls by the hour.
    air = [18.0, 14.0, 9.0, 3.0, -2.0]
    temperature = 22.0
    for span in air:
        temperature = cool(temperature, span, hours=3.0, time_constant_h=8.0, sun_gain_c=1.5)
    exact = 22.0
    for span in air:
        solved = solve_ivp(
            lambda _, t, span=span: (span + 1.5 - t) / 8.0, (0.0, 3.0), [exact], rtol=1e-10
        )
        exact = float(solved.y[0, -1])
    assert temperature == pytest.approx(exact, abs=1e-6)


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(ValueError, match="more than nothing"):
        swing(0.0)
    with pytest.raises(ValueError, match="liquid"):
        time_constant_h(0.0)
    with pytest.raises(ValueError, match="none, jacketed, sunk"):
        time_constant_h(60.0, "buried")  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="cannot be"):
        cool(10.0, 5.0, hours=-1.0, time_constant_h=12.0)
    with pytest.raises(ValueError, match="cannot be"):
        cool(10.0, 5.0, hours=1.0, time_constant_h=0.0)
    with pytest.raises(ValueError, match="cannot be"):
        mean_and_end(10.0, 5.0, hours=0.0, time_constant_h=12.0)
    with pytest.raises(ValueError, match="cannot be"):
        mean_and_end(np.zeros(2), 5.0, hours=1.0, time_constant_h=np.array([12.0, 0.0]))
