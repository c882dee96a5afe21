"""Learning a runoff coefficient: it settles, it follows, it is not fooled by a blockage."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from steepwell.model.learn import learned_runoff

FIRST_GUESS = (0.85, 0.15**2)


def learn(known: tuple[float, float], potential: float, collected: float) -> tuple[float, float]:
    return learned_runoff(
        *known,
        potential_l=potential,
        collected_l=collected,
        noise_l=8.0,
        most_variance=0.15**2,
    )


def rains(true: float, count: int, seed: int = 1) -> list[tuple[float, float]]:
    random = np.random.default_rng(seed)
    potential = random.uniform(20.0, 200.0, count)
    return list(zip(potential, true * potential + random.normal(0.0, 8.0, count), strict=True))


def test_a_roof_is_learned_within_a_summer() -> None:
    known = FIRST_GUESS
    for potential, collected in rains(0.70, 25):
        known = learn(known, potential, collected)
    coefficient, variance = known
    assert coefficient == pytest.approx(0.70, abs=0.03)
    assert abs(coefficient - 0.70) < 3.0 * variance**0.5


def test_a_roof_that_changes_is_followed() -> None:
    known = FIRST_GUESS
    for potential, collected in [*rains(0.80, 60), *rains(0.74, 100, seed=2)]:
        known = learn(known, potential, collected)
    assert known[0] == pytest.approx(0.74, abs=0.02)


@pytest.mark.parametrize("collected", [0.0, 20.0, 400.0])
def test_a_blockage_or_a_burst_teaches_nothing(collected: float) -> None:
    # 150 L were possible, 120 L are usual; settled to a standard deviation of 0.02.
    assert learn((0.80, 0.02**2), 150.0, collected) == (0.80, 0.02**2)


def test_one_rain_by_hand() -> None:
    # Variance 0.01 / 0.98 = 0.0102041; gain 1.02041 / (102.041 + 64) = 0.00614553; 10 L missing.
    coefficient, variance = learn((0.8, 0.01), 100.0, 70.0)
    assert coefficient == pytest.approx(0.8 - 10.0 * 0.00614553, abs=1e-7)
    assert variance == pytest.approx(0.010204082 * 64.0 / (102.04082 + 64.0), rel=1e-6)


@given(
    coefficient=st.floats(0.2, 1.0),
    spread=st.floats(0.0, 0.3),
    potential=st.floats(0.1, 2000.0),
    share=st.floats(0.0, 2.0),
)
def test_the_coefficient_stays_one_that_can_be(
    coefficient: float, spread: float, potential: float, share: float
) -> None:
    learned, variance = learn((coefficient, spread**2), potential, share * potential)
    assert 0.2 <= learned <= 1.0
    assert 0.0 <= variance <= max(spread**2, 0.15**2)


@pytest.mark.parametrize(
    "change",
    [
        {"potential_l": 0.0},
        {"noise_l": 0.0},
        {"potential_l": float("nan")},
        {"variance": -0.1},
        {"most_variance": -0.1},
    ],
    ids=str,
)
def test_a_rain_that_teaches_nothing_is_refused(change: dict[str, float]) -> None:
    sound = {
        "coefficient": 0.8,
        "variance": 0.01,
        "potential_l": 100.0,
        "collected_l": 70.0,
        "noise_l": 8.0,
        "most_variance": 0.02,
    }
    with pytest.raises(ValueError, match="teach nothing"):
        learned_runoff(**(sound | change))
