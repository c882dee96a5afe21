"""Spells: what counts as dry, what ends a run, members at once."""

from __future__ import annotations

import numpy as np
import pytest

from steepwell.model.spells import (
    absolute_droughts,
    dry_spells,
    longest_dry_run_d,
    longest_wet_run_d,
)


def days(*parts: tuple[int, float]) -> np.ndarray:
    return np.concatenate([np.full(length, rain) for length, rain in parts])


@pytest.mark.parametrize(
    ("rain", "droughts", "spells"),
    # Meteorological Glossary (1963): 15 days or more, to none of which is credited 0.2 mm or more
    # (absolute drought) or 1.0 mm or more (dry spell).
    [
        (days((15, 0.0)), [(0, 15)], [(0, 15)]),
        (days((14, 0.0), (1, 5.0)), [], []),
        (days((1, 5.0), (15, 0.1), (1, 5.0)), [(1, 15)], [(1, 15)]),
        (days((10, 0.0), (1, 0.2), (10, 0.0)), [], [(0, 21)]),
        (days((10, 0.0), (1, 1.0), (10, 0.0)), [], []),
        (
            days((16, 0.0), (1, 9.0), (20, 0.0)),
            [(0, 16), (17, 20)],
            [(0, 16), (17, 20)],
        ),
        (days((10, 0.0), (1, np.nan), (10, 0.0)), [], []),
        (np.array([]), [], []),
    ],
)
def test_droughts_and_dry_spells(
    rain: np.ndarray, droughts: list[tuple[int, int]], spells: list[tuple[int, int]]
) -> None:
    assert absolute_droughts(rain) == droughts
    assert dry_spells(rain) == spells


def test_a_tip_that_falls_a_hair_short_counts() -> None:
    a_tip = 0.6 - 0.4  # 0.19999999999999996
    assert absolute_droughts(days((10, 0.0), (1, a_tip), (10, 0.0))) == []


@pytest.mark.parametrize(
    ("rain", "dry", "wet"),
    [
        (days((3, 0.0), (2, 4.0), (5, 0.5)), 5, 2),
        (days((3, 0.0), (1, np.nan), (4, 2.0), (1, np.nan), (2, 2.0)), 3, 4),
        (days((7, 0.0)), 7, 0),
        (np.array([]), 0, 0),
    ],
)
def test_longest_runs(rain: np.ndarray, dry: int, wet: int) -> None:
    assert longest_dry_run_d(rain) == dry
    assert longest_wet_run_d(rain) == wet


def test_members_at_once() -> None:
    rain = np.array([[0.0, 5.0], [0.0, 5.0], [3.0, 0.0]])
    assert longest_dry_run_d(rain).tolist() == [2, 1]
    assert longest_wet_run_d(rain).tolist() == [1, 2]
