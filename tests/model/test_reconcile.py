"""Reconciling: readings pull as they deserve, bounds pull one way, time makes less certain."""

from __future__ import annotations

from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from steepwell.model.reconcile import (
    carried_variance_l2,
    clipped_variance_l2,
    corrected_by_bound,
    corrected_by_level,
)

litres = st.floats(0.0, 500.0)
variance = st.floats(0.01, 2500.0)


@pytest.mark.parametrize(
    ("variance_l2", "level_variance_l2", "volume", "after"),
    # By hand, 100 L reckoned and 140 L read: equal trust, four to one, one to three, full trust.
    [
        (25.0, 25.0, 120.0, 12.5),
        (100.0, 25.0, 132.0, 20.0),
        (25.0, 75.0, 110.0, 18.75),
        (25.0, 0.0, 140.0, 0.0),
        (0.0, 25.0, 100.0, 0.0),
    ],
)
def test_a_reading_pulls_by_its_certainty(
    variance_l2: float, level_variance_l2: float, volume: float, after: float
) -> None:
    corrected = corrected_by_level(
        100.0, variance_l2, level_l=140.0, level_variance_l2=level_variance_l2
    )
    assert corrected == pytest.approx((volume, after))


@given(first=litres, second=litres, start=litres, spread=variance, noise=variance)
def test_the_order_of_two_readings_does_not_matter(
    first: float, second: float, start: float, spread: float, noise: float
) -> None:
    def both(earlier: float, later: float) -> tuple[float, float]:
        volume, left = corrected_by_level(start, spread, level_l=earlier, level_variance_l2=noise)
        return corrected_by_level(volume, left, level_l=later, level_variance_l2=noise)

    assert both(first, second) == pytest.approx(both(second, first), rel=1e-9, abs=1e-9)


@given(volume=litres, spread=variance, at_least=litres, noise=st.floats(0.0, 100.0))
def test_a_bound_only_ever_raises_and_makes_surer(
    volume: float, spread: float, at_least: float, noise: float
) -> None:
    after, left = corrected_by_bound(volume, spread, at_least_l=at_least, bound_variance_l2=noise)
    assert after >= volume
    assert 0.0 <= left <= spread


def test_a_bound_far_below_changes_nothing() -> None:
    assert corrected_by_bound(200.0, 25.0, at_least_l=100.0) == pytest.approx((200.0, 25.0))


def test_a_bound_far_above_is_believed() -> None:
    # Cut off 40 standard deviations out, a normal distribution falls off like an exponential one
    # whose mean lies 1/40 of a standard deviation beyond the cut.
    volume, left = corrected_by_bound(0.0, 25.0, at_least_l=200.0)
    assert volume == pytest.approx(200.0 + 5.0 / 40.0, abs=1e-3)
    assert left == pytest.approx((5.0 / 40.0) ** 2, rel=0.01)


def test_butts_at_once() -> None:
    volume = np.array([100.0, 180.0])
    spread = np.array([400.0, 100.0])
    together = corrected_by_bound(volume, spread, at_least_l=190.0, bound_variance_l2=4.0)
    for butt, corrected in enumerate(zip(*together, strict=True)):
        alone = corrected_by_bound(
            float(volume[butt]), float(spread[butt]), at_least_l=190.0, bound_variance_l2=4.0
        )
        assert corrected == pytest.approx(alone)


def test_a_day_makes_less_certain() -> None:
    # By hand: 9 + (0.1 x 50)^2 + (0.3 x 20)^2 = 9 + 25 + 36.
    grown = carried_variance_l2(
        9.0, inflow_l=50.0, runoff_uncertainty=0.1, used_l=20.0, use_uncertainty=0.3
    )
    assert grown == pytest.approx(70.0)


@pytest.mark.parametrize(("one", "other"), [(-1.0, 4.0), (4.0, -1.0), (0.0, 0.0)])
def test_variances_that_say_nothing_are_refused(one: float, other: float) -> None:
    with pytest.raises(ValueError, match="variance"):
        corrected_by_level(100.0, one, level_l=120.0, level_variance_l2=other)
    with pytest.raises(ValueError, match="variance"):
        corrected_by_bound(100.0, one, at_least_l=120.0, bound_variance_l2=other)


@pytest.mark.parametrize(
    "change", [{"runoff_uncertainty": -0.1}, {"use_uncertainty": -0.1}], ids=str
)
def test_an_uncertainty_cannot_be_negative(change: dict[str, float]) -> None:
    sound = {"inflow_l": 1.0, "runoff_uncertainty": 0.1, "used_l": 1.0, "use_uncertainty": 0.1}
    with pytest.raises(ValueError, match="negative"):
        carried_variance_l2(9.0, **(sound | change))
    with pytest.raises(ValueError, match="negative"):
        carried_variance_l2(-9.0, **sound)


@pytest.mark.parametrize(
    ("volume", "bounds", "variance_l2"),
    [
        # Well inside nothing changes, far outside nothing is left open.
        (100.0, {"least_l": 0.0, "most_l": 200.0}, 25.0),
        (400.0, {"least_l": 0.0, "most_l": 200.0}, 0.0),
        (-90.0, {"least_l": 0.0, "most_l": 200.0}, 0.0),
        # By integration: half of a normal distribution lies on the bound, and the variance is
        # 1/2 - 1/(2 pi) = 0.34085 of what it was.
        (200.0, {"most_l": 200.0}, 25.0 * 0.34085),
        (0.0, {"least_l": 0.0}, 25.0 * 0.34085),
        # One standard deviation to both sides: by integration 1 - 2 phi(1) = 0.51606.
        (10.0, {"least_l": 5.0, "most_l": 15.0}, 25.0 * 0.51606),
    ],
)
def test_a_butt_that_ran_over_is_surely_full(
    volume: float, bounds: dict[str, float], variance_l2: float
) -> None:
    left = clipped_variance_l2(volume, 25.0, **bounds)
    assert left == pytest.approx(variance_l2, rel=1e-4, abs=1e-9)


@given(volume=litres, spread=st.floats(1.0, 2500.0))
def test_the_variance_within_bounds_is_that_of_clipped_draws(volume: float, spread: float) -> None:
    # Quantiles of the standard normal distribution stand for draws.
    normal = NormalDist()
    draws = np.array([normal.inv_cdf((i + 0.5) / 4000) for i in range(4000)])
    clipped = np.clip(volume + np.sqrt(spread) * draws, 0.0, 300.0)
    left = clipped_variance_l2(volume, spread, least_l=0.0, most_l=300.0)
    assert left == pytest.approx(clipped.var(), abs=0.01 * spread)


@pytest.mark.parametrize("change", [{"variance_l2": -1.0}, {"least_l": 300.0}], ids=str)
def test_bounds_that_cannot_be_are_refused(change: dict[str, float]) -> None:
    sound = {"volume_l": 10.0, "variance_l2": 1.0, "least_l": 0.0, "most_l": 200.0}
    with pytest.raises(ValueError, match="cannot be"):
        clipped_variance_l2(**(sound | change))
