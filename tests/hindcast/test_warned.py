from __future__ import annotations

import numpy as np
import pytest
from tests.hindcast.warned import Warned, dry_outs, stands_from, warned

ISSUES_D = tuple(range(0, 60, 3))


def days(*dry: int) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    found = np.zeros(100, dtype=bool)
    found[list(dry)] = True
    return found


def chances(**raised: float) -> list[tuple[float, float]]:
    return [2 * (raised.get(f"d{day}", 0.0),) for day in ISSUES_D]


def test_a_dry_out_is_apart_from_the_one_before() -> None:
    assert dry_outs(days(3, 4, 10, 40, 50)) == [3, 40]


def test_the_notice_stands_until_its_chance_is_low() -> None:
    told = [(0.4, 0.1), (0.4, 0.2), (0.12, 0.0), (0.05, 0.0), (0.4, 0.14), (0.4, 0.15)]
    assert stands_from(told) == [(1, 3), (5, 6)]


@pytest.mark.parametrize(
    ("dry", "told", "expected"),
    [
        # Raised on day 12, dry on day 19 and within 28 days.
        (days(19), {"d12": 0.3, "d15": 0.3, "d18": 0.3}, Warned(1, 1, 1, 1)),
        # A day later it is told six days ahead.
        (days(18), {"d12": 0.3, "d15": 0.3}, Warned(1, 0, 1, 1)),
        # Over before, and nothing came of it in time.
        (days(50), {"d12": 0.3}, Warned(1, 0, 1, 0)),
        # Raised while it is dry.
        (days(10, 11, 12), {"d12": 0.9}, Warned(1, 0, 0, 0)),
        (days(), {}, Warned()),
        # Before anything could be told.
        (days(3), {}, Warned()),
    ],
)
def test_a_season_is_judged(
    dry: np.ndarray[tuple[int], np.dtype[np.bool_]], told: dict[str, float], expected: Warned
) -> None:
    assert warned(dry, chances(**told), ISSUES_D) == expected
