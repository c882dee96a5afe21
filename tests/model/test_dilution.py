"""Dilution: thinner with age, told on the thinner rung, measured out by the can."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from steepwell.model.dilution import LADDER, dilution_parts, dose_l, rung, told_dilution

ages = st.floats(0.0, 2000.0)


@given(younger=ages, older=ages)
def test_age_never_thickens(younger: float, older: float) -> None:
    low, high = sorted((younger, older))
    assert dilution_parts(low) <= dilution_parts(high)


@pytest.mark.parametrize("age", [365.0, 5000.0])
def test_practice_ends_at_one_to_five_hundred(age: float) -> None:
    assert dilution_parts(age) == 500.0


@given(thermal=ages, calendar=ages)
def test_the_thinner_of_both_readings_is_told(thermal: float, calendar: float) -> None:
    assert told_dilution(thermal, calendar) == max(
        dilution_parts(thermal), dilution_parts(calendar)
    )


def test_members_are_told_at_once() -> None:
    told = told_dilution(np.array([0.0, 20.0]), 14.0)
    assert told == pytest.approx([30.0, dilution_parts(20.0)])


@pytest.mark.parametrize(
    ("parts", "told"),
    [(0.0, 30), (30.0, 30), (30.1, 60), (60.0, 60), (101.0, 150), (400.0, 400), (499.0, 500)],
)
def test_the_next_rung_at_or_above(parts: float, told: int) -> None:
    assert rung(parts) == told


def test_beyond_the_ladder_its_last_rung_is_told() -> None:
    assert rung(700.0) == 500
    assert rung(45.0, ladder=(10, 20)) == 20


def test_an_age_summed_from_quarter_hours_does_not_skip_a_rung() -> None:
    age = sum([0.25 / 24.0] * (14 * 96))  # two weeks, but for the last digits
    assert rung(dilution_parts(age)) == 30


@given(parts=st.floats(0.0, 500.0))
def test_a_rung_is_never_stronger(parts: float) -> None:
    assert rung(parts) >= parts * (1.0 - 1e-9)
    assert rung(parts) in LADDER


@pytest.mark.parametrize("ladder", [(), (30, 30), (60, 30)])
def test_a_ladder_that_does_not_rise_is_refused(ladder: tuple[int, ...]) -> None:
    with pytest.raises(ValueError, match="rise"):
        rung(30.0, ladder)


@given(can=st.floats(0.1, 20.0), parts=st.floats(0.0, 500.0))
def test_feed_and_water_fill_the_can(can: float, parts: float) -> None:
    feed = dose_l(can, parts)
    assert feed + parts * feed == pytest.approx(can)


@pytest.mark.parametrize(("can", "parts"), [(-1.0, 30.0), (4.5, -1.0)])
def test_a_can_that_cannot_be_is_refused(can: float, parts: float) -> None:
    with pytest.raises(ValueError, match="negative"):
        dose_l(can, parts)


def test_an_age_before_the_start_is_refused() -> None:
    with pytest.raises(ValueError, match="negative"):
        dilution_parts(-0.1)
