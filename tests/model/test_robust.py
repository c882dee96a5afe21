from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import theilslopes

from steepwell.model.robust import median_slope


@pytest.mark.parametrize("seed", range(5))
def test_the_slope_is_that_of_scipy(seed: int) -> None:
    rng = np.random.default_rng(seed)
    x = rng.uniform(0.0, 8.0, 40)
    y = -0.3 * x + rng.normal(0.0, 0.5, 40)
    slope, error = median_slope(x, y)
    theirs = theilslopes(y, x, 0.95)
    assert slope == pytest.approx(theirs.slope)
    # Their range is that of Kendall's statistic; ours is as wide within a third.
    assert 2 * 1.96 * error == pytest.approx(theirs.high_slope - theirs.low_slope, rel=0.4)


def test_single_values_do_not_pull_it_aside() -> None:
    x = np.arange(20.0)
    y = 2.0 * x
    y[[3, 11, 17]] += 500.0
    slope, _ = median_slope(x, y)
    assert slope == pytest.approx(2.0)


def test_values_that_do_not_move_have_no_slope_and_no_doubt() -> None:
    assert median_slope(np.arange(5.0), np.full(5, 3.0)) == (0.0, 0.0)


def test_the_error_holds_the_slope_as_often_as_it_says() -> None:
    rng = np.random.default_rng(7)
    x = np.tile(np.arange(8.0) - 3.5, 4)
    off = [
        slope / error
        for slope, error in (median_slope(x, rng.normal(0.0, 1.0, len(x))) for _ in range(400))
    ]
    # Two standard errors hold 95 of 100 normal values (common tables).
    assert 0.90 < np.mean(np.abs(off) < 2.0) < 0.98


def test_one_place_has_no_slope() -> None:
    with pytest.raises(ValueError, match="3 values at one place"):
        median_slope(np.zeros(3), np.arange(3.0))
