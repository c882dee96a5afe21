"""Rain counters: increments, and a counter that begins again."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from steepwell.model.rain import counter_increments


@pytest.mark.parametrize(
    ("readings", "increments"),
    [
        ([], []),
        ([7.4], [0.0]),
        ([7.4, 7.4, 8.0], [0.0, 0.0, 0.6]),
        ([7.4, 8.0, 0.4, 1.0], [0.0, 0.6, 0.4, 0.6]),  # it began again and had counted 0.4
        ([5.0, 0.0, 2.0], [0.0, 0.0, 2.0]),
    ],
)
def test_increments_of_a_counter(readings: list[float], increments: list[float]) -> None:
    assert counter_increments(readings) == pytest.approx(increments)


@given(st.lists(st.floats(0.0, 50.0), min_size=1, max_size=40))
def test_a_counter_that_never_restarts_gives_back_the_rain(rain: list[float]) -> None:
    counted = counter_increments(np.cumsum(rain))
    assert counted[1:] == pytest.approx(rain[1:], abs=1e-9)
    assert counted[0] == 0.0


@pytest.mark.parametrize("readings", [[1.0, -1.0], [[1.0, 2.0]]])
def test_what_no_counter_shows_is_refused(readings: list[float]) -> None:
    with pytest.raises(ValueError, match="counter"):
        counter_increments(readings)
