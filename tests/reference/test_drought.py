"""The standardized precipitation index and spells against published definitions and a library."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import special, stats

from steepwell.model.drought import RainFit, fit_rain, spi
from steepwell.model.spells import longest_dry_run_d, longest_wet_run_d

# Thirty totals of one month, made up, two of them without rain; SPI beside each by climate-indices
# 3.1.0 (indices.spi, scale 1, gamma, calibrated on all thirty years), printed to four digits.
JULY = [
    (62.4, 0.6258),
    (18.7, -0.8477),
    (45.1, 0.1424),
    (0.0, -1.5011),
    (88.9, 1.2304),
    (33.2, -0.2554),
    (51.6, 0.3350),
    (12.3, -1.1453),
    (104.5, 1.5362),
    (70.8, 0.8318),
    (27.9, -0.4564),
    (39.4, -0.0400),
    (5.6, -1.4189),
    (58.0, 0.5112),
    (81.2, 1.0675),
    (22.1, -0.6967),
    (47.7, 0.2212),
    (0.0, -1.5011),
    (66.3, 0.7234),
    (95.4, 1.3615),
    (30.5, -0.3557),
    (14.8, -1.0283),
    (53.9, 0.3997),
    (76.1, 0.9544),
    (41.0, 0.0126),
    (9.7, -1.2629),
    (36.8, -0.1280),
    (60.2, 0.5691),
    (120.6, 1.8240),
    (25.3, -0.5614),
]


def test_the_fit_of_thirty_julys() -> None:
    # Thom's approximation worked out by hand: shape 2.387055, scale 20.946310, 2 of 30 dry.
    fit = fit_rain([total for total, _ in JULY])
    assert fit.shape == pytest.approx(2.38705530033118)
    assert fit.scale_mm == pytest.approx(20.9463098710210)
    assert fit.dry_share == pytest.approx(1.0 / 15.0)


def test_the_index_of_thirty_julys() -> None:
    totals, expected = (np.array(column) for column in zip(*JULY, strict=True))
    assert spi(totals, fit_rain(totals)) == pytest.approx(expected, abs=1e-4)


@pytest.mark.parametrize("shape", [0.3, 1.0, 2.4, 12.0, 60.0])
def test_probabilities_agree_with_scipy(shape: float) -> None:
    fit = RainFit(shape=shape, scale_mm=20.0, dry_share=0.05)
    totals = stats.gamma.ppf(np.linspace(0.001, 0.998, 101), shape, scale=20.0)
    expected = special.ndtri(0.05 + 0.95 * stats.gamma.cdf(totals, shape, scale=20.0))
    assert spi(totals, fit) == pytest.approx(expected, abs=1e-6)


def test_longest_runs_of_the_definition() -> None:
    # ETCCDI: CDD counts days under 1 mm, CWD days with 1 mm or more; counted by hand on a series
    # with values on the boundary.
    rain = np.array([0.0, 0.9, 1.0, 0.2, 0.0, 0.0, 5.0, 2.0, 1.0, 0.0, 0.0, 0.0, 0.99, 3.0])
    assert longest_dry_run_d(rain) == 4
    assert longest_wet_run_d(rain) == 3
