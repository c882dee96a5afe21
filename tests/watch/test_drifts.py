"""The rule about thermometers that creep away from their neighbours."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from tests.watch.faulty import Hours, told_of

from steepwell.watch.drifts import parting_c, probes_that_drift

if TYPE_CHECKING:
    from pathlib import Path

    from steepwell.watch.finding import Finding

DAYS = 30


def found(folder: Path, hours: Hours) -> list[Finding]:
    told = told_of(folder, hours, probes_that_drift)
    assert isinstance(told, list)
    return told


@pytest.mark.parametrize(
    ("way", "expected"),
    [
        (np.linspace(0.0, 2.8, 28), 2.9),
        (np.zeros(28), 0.0),
        # A probe that was put elsewhere has moved at once.
        (np.repeat([0.0, 3.0], 14), 0.0),
        (np.where(np.arange(28) < 10, np.nan, 1.0), 0.0),
    ],
)
def test_parting_is_steady(
    way: np.ndarray[tuple[int], np.dtype[np.float64]], expected: float
) -> None:
    assert parting_c(way) == pytest.approx(expected, abs=0.05)


def test_probes_that_keep_together_are_not_told(tmp_path: Path) -> None:
    hours = Hours(DAYS)
    warming = np.linspace(0.0, 6.0, len(hours.air_c))
    hours.air_c += warming
    hours.water_c = {name: water_c + warming for name, water_c in hours.water_c.items()}
    assert found(tmp_path, hours) == []


@pytest.mark.parametrize("size", [3.0, -3.0])
def test_the_one_that_creeps_is_told(tmp_path: Path, size: float) -> None:
    hours = Hours(DAYS)
    hours.water_c["leek"] += np.linspace(0.0, size, len(hours.air_c))
    (finding,) = found(tmp_path, hours)
    assert finding.subject == "leek-temperature"
    assert finding.figures["parted_c"] == pytest.approx(size * 28 / DAYS, abs=0.2)
    assert ("upwards" if size > 0 else "downwards") in finding.text


def test_a_month_of_a_little_is_not_told(tmp_path: Path) -> None:
    hours = Hours(DAYS)
    hours.water_c["leek"] += np.linspace(0.0, 1.0, len(hours.air_c))
    assert found(tmp_path, hours) == []
