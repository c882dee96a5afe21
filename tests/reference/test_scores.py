"""Scores of forecasts against scoringrules, closed forms and integrals."""

from __future__ import annotations

import numpy as np
import pytest
import scoringrules
from scipy import integrate, stats

from steepwell.outlook.scoring import (
    brier,
    central_share,
    crps_ensemble,
    crps_quantiles,
    rank_histogram,
    ranks,
    skill,
)


@pytest.mark.parametrize("members", [1, 2, 7, 50])
def test_the_score_of_an_ensemble_against_scoringrules(members: int) -> None:
    rng = np.random.default_rng(members)
    forecasts, truth = rng.gamma(2.0, 150.0, (20, members)), rng.gamma(2.0, 150.0, 20)
    forecasts[:5] = np.maximum(forecasts[:5] - 300.0, 0.0)  # members that are alike
    theirs = scoringrules.crps_ensemble(truth, forecasts, estimator="nrg")
    assert crps_ensemble(forecasts, truth) == pytest.approx(theirs, abs=1e-9)


def test_the_score_of_an_ensemble_is_the_integral_of_the_squared_step() -> None:
    """By its first definition: the integral of (F(x) - 1{x >= y})^2, here summed finely."""
    members, truth = np.array([40.0, 90.0, 90.0, 310.0]), 120.0
    x = np.linspace(0.0, 400.0, 400_001)
    step = (members[:, None] <= x).mean(axis=0) - (x >= truth)
    expected = integrate.trapezoid(step**2, x)
    assert crps_ensemble(members, np.array(truth)) == pytest.approx(expected, abs=1e-2)


def test_the_score_of_a_large_ensemble_is_that_of_its_distribution() -> None:
    """The closed form for a normal distribution: Gneiting and Raftery (2007), p. 367."""
    z = (330.0 - 300.0) / 80.0
    normal = stats.norm
    expected = 80.0 * (z * (2.0 * normal.cdf(z) - 1.0) + 2.0 * normal.pdf(z) - np.pi**-0.5)
    middles = (np.arange(5000) + 0.5) / 5000
    members = normal.ppf(middles, 300.0, 80.0)
    assert crps_ensemble(members, np.array(330.0)) == pytest.approx(expected, rel=1e-4)
    assert scoringrules.crps_normal(330.0, 300.0, 80.0) == pytest.approx(expected)


@pytest.mark.parametrize("count", [1, 9, 99])
def test_even_quantiles_against_scoringrules(count: int) -> None:
    rng = np.random.default_rng(count)
    middles = (np.arange(count) + 0.5) / count
    quantiles, truth = np.sort(rng.gamma(2.0, 150.0, (20, count))), rng.gamma(2.0, 150.0, 20)
    ours = crps_quantiles(middles, quantiles, truth)
    assert ours == pytest.approx(scoringrules.crps_quantile(truth, quantiles, middles))
    # Such quantiles are an ensemble, and score as one.
    theirs = scoringrules.crps_ensemble(truth, quantiles, estimator="nrg")
    assert ours == pytest.approx(theirs, abs=1e-9)


def test_the_seven_quantiles_of_an_outlook_come_near_the_whole_distribution() -> None:
    """For what is as likely as they say: within 3 %, by the closed form for a normal one."""
    levels = np.array([0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95])
    truth = np.random.default_rng(1).normal(300.0, 80.0, 20_000)
    quantiles = np.broadcast_to(stats.norm.ppf(levels, 300.0, 80.0), (20_000, 7))
    whole = scoringrules.crps_normal(truth, 300.0, 80.0).mean()
    assert crps_quantiles(levels, quantiles, truth).mean() == pytest.approx(whole, rel=0.03)


def test_the_score_of_chances_against_scoringrules() -> None:
    rng = np.random.default_rng(2)
    chances = rng.random(500)
    outcomes = rng.random(500) < chances**2
    found = brier(chances, outcomes)
    theirs = scoringrules.brier_score(outcomes.astype(float), chances).mean()
    assert found.score == pytest.approx(theirs)


def test_a_score_of_chances_by_hand() -> None:
    """Ten cases by hand.

    0.2 told five times and one came, 0.8 told five times and three came: the score is
    (4 x 0.04 + 0.64 + 3 x 0.04 + 2 x 0.64)/10 = 0.22, reliability (0 + 0.2^2)/2 = 0.02, resolution
    0.2^2 = 0.04 about a mean of 0.4, uncertainty 0.24; and 0.02 - 0.04 + 0.24 = 0.22.
    """
    chances = np.repeat([0.2, 0.8], 5)
    outcomes = np.array([True, False, False, False, False, True, True, True, False, False])
    found = brier(chances, outcomes)
    assert found.score == pytest.approx(0.22)
    assert found.reliability == pytest.approx(0.02)
    assert found.resolution == pytest.approx(0.04)
    assert found.uncertainty == pytest.approx(0.24)
    assert found.within == pytest.approx(0.0, abs=1e-12)


def test_chances_that_differ_within_a_tenth_leave_a_rest() -> None:
    """Stephenson et al. (2008): the rest is the variance within bins less twice the covariance."""
    rng = np.random.default_rng(3)
    chances = rng.random(400)
    outcomes = rng.random(400) < chances
    rest = 0.0
    for tenth in range(10):
        here = (chances >= tenth / 10) & (chances < (tenth + 1) / 10)
        spread = chances[here] - chances[here].mean()
        rest += np.sum(spread**2) - 2.0 * np.sum(spread * outcomes[here])
    found = brier(chances, outcomes)
    assert found.within == pytest.approx(rest / 400)
    assert found.score == pytest.approx(
        found.reliability - found.resolution + found.uncertainty + found.within
    )


@pytest.mark.parametrize(("chance", "reliability"), [(1.0, 0.25), (0.5, 0.0), (0.0, 0.25)])
def test_one_and_the_same_chance(chance: float, reliability: float) -> None:
    # Half of it came: the chance is off by half, or not at all, and tells nothing apart.
    found = brier(np.full(4, chance), np.array([True, False, True, False]))
    assert (found.reliability, found.resolution) == (reliability, 0.0)


def test_what_is_one_more_member_has_even_ranks() -> None:
    """Half of the cases stand at an empty butt, where most members are alike."""
    rng = np.random.default_rng(4)
    drawn = np.maximum(rng.normal(0.0, 100.0, (20_000, 20)), 0.0)
    found = ranks(drawn[:, 1:], drawn[:, 0], rng)
    counts = rank_histogram(found, 19, 10)
    assert counts.sum() == 20_000
    assert stats.chisquare(counts).pvalue > 0.001
    assert central_share(found, 19, 0.8, rng) == pytest.approx(0.8, abs=0.01)


def test_ranges_that_are_too_narrow_have_their_ranks_at_the_ends() -> None:
    # A normal truth with twice the spread: P(|z| < 1.2816/2) = 0.478 lie in the central 80 %.
    rng = np.random.default_rng(5)
    members, truth = rng.normal(0.0, 1.0, (20_000, 199)), rng.normal(0.0, 2.0, 20_000)
    found = ranks(members, truth, rng)
    assert central_share(found, 199, 0.8, rng) == pytest.approx(0.478, abs=0.015)
    counts = rank_histogram(found, 199, 10)
    assert counts[[0, -1]].min() > counts[1:-1].max()


def test_bars_that_do_not_share_out_the_ranks_are_refused() -> None:
    with pytest.raises(ValueError, match="501 ranks are no multiple of 10"):
        rank_histogram(np.array([3]), 500, 10)


@pytest.mark.parametrize(
    ("score", "baseline", "expected"),
    [(0.0, 2.0, 1.0), (1.0, 2.0, 0.5), (2.0, 2.0, 0.0), (3.0, 2.0, -0.5), (1.0, 0.0, None)],
)
def test_skill(score: float, baseline: float, expected: float | None) -> None:
    assert skill(score, baseline) == expected
