"""Ageing: nothing in frost, no faster than at 30 °C, ready at both ages."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from steepwell.model.ageing import (
    REFERENCE_C,
    ageing_per_day,
    decay_rate,
    is_ready,
    lloyd_taylor,
    thermal_age_d,
)


@given(temperature=st.floats(-46.0, 60.0))
def test_the_rate_is_the_published_one_within_its_bounds(temperature: float) -> None:
    if temperature <= 0.0:
        assert decay_rate(temperature) == 0.0
    elif temperature <= 30.0:
        assert decay_rate(temperature) == pytest.approx(lloyd_taylor(temperature))
    else:
        assert decay_rate(temperature) == pytest.approx(lloyd_taylor(30.0))


def test_a_day_at_the_reference_is_a_day() -> None:
    assert ageing_per_day(REFERENCE_C) == pytest.approx(1.0)


@given(cooler=st.floats(-10.0, 40.0), warmer=st.floats(-10.0, 40.0))
def test_warmth_never_slows(cooler: float, warmer: float) -> None:
    low, high = sorted((cooler, warmer))
    assert ageing_per_day(low) <= ageing_per_day(high)


def test_age_is_summed_over_spans_of_any_length() -> None:
    temperatures = np.array([17.0, -3.0, 17.0])
    # By hand: 12 h at the reference, a day of frost, 36 h at the reference.
    assert thermal_age_d(temperatures, np.array([12.0, 24.0, 36.0])) == pytest.approx(2.0)


def test_age_of_many_members_at_once() -> None:
    temperatures = np.array([[17.0] * 4, [0.0] * 4])
    assert thermal_age_d(temperatures, 6.0) == pytest.approx([1.0, 0.0])


def test_time_does_not_run_back() -> None:
    with pytest.raises(ValueError, match="negative"):
        thermal_age_d(np.array([17.0]), -1.0)


@pytest.mark.parametrize("temperature", [-46.02, -60.0])
def test_the_pole_of_the_equation_is_refused(temperature: float) -> None:
    with pytest.raises(ValueError, match=r"46\.02"):
        lloyd_taylor(temperature)


@pytest.mark.parametrize(
    ("thermal", "calendar", "ready"),
    [(14.0, 14.0, True), (13.9, 40.0, False), (20.0, 9.9, False), (20.0, 10.0, True)],
)
def test_ready_when_both_ages_are_reached(
    thermal: float,
    calendar: float,
    ready: bool,  # noqa: FBT001 - a table column
) -> None:
    assert bool(is_ready(thermal, calendar)) is ready


def test_an_owner_may_have_another_ready_age() -> None:
    assert not is_ready(20.0, 30.0, ready_age_d=28.0)
    assert is_ready(8.0, 8.0, ready_age_d=7.0, least_days=7.0)


def test_readiness_of_many_members() -> None:
    assert is_ready(np.array([13.0, 15.0]), 20.0).tolist() == [False, True]
