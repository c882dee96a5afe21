"""Yield response: losses stay within bounds, and each day weighs as its growth period does."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from steepwell.model.response import PeriodKy, ky_on, yield_loss

# Bean: Doorenbos and Kassam (1979), FAO-33, from memory.
BEAN = PeriodKy(vegetative=0.2, flowering=1.1, yield_formation=0.75, ripening=0.2)
STAGES = (20, 30, 30, 10)  # FAO-56, Table 11, p. 104: green bean


@given(share=st.floats(0.0, 1.5), etc=st.floats(0.0, 600.0), ky=st.floats(0.0, 1.5))
def test_a_loss_lies_between_nothing_and_everything(share: float, etc: float, ky: float) -> None:
    assert 0.0 <= yield_loss(share * etc, etc, ky) <= 1.0


def test_nothing_asked_for_is_nothing_lost() -> None:
    loss = yield_loss(np.array([0.0, 80.0, 100.0]), np.array([0.0, 100.0, 100.0]), 1.1)
    assert loss == pytest.approx([0.0, 0.22, 0.0])  # by hand


@pytest.mark.parametrize(
    ("day", "ky"),
    # By hand: full grown on day 50, the halves of mid-season end on days 65 and 80.
    [
        (-1, 0.0),
        (0, 0.2),
        (49, 0.2),
        (50, 1.1),
        (64, 1.1),
        (65, 0.75),
        (79, 0.75),
        (80, 0.2),
        (90, 0.2),
        (91, 0.0),
    ],
)
def test_the_growth_period_of_a_day(day: float, ky: float) -> None:
    assert ky_on(day, STAGES, BEAN) == ky


def test_days_as_an_array() -> None:
    days = np.arange(-2.0, 95.0)
    expected = [ky_on(float(day), STAGES, BEAN) for day in days]
    assert ky_on(days, STAGES, BEAN).tolist() == expected
