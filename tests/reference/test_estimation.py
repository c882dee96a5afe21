"""Losses and corrections against the source's worked examples and another library's integrals."""

from __future__ import annotations

import pytest
from scipy import integrate, stats

from steepwell.model.reconcile import corrected_by_bound
from steepwell.model.response import yield_loss


def test_beans_on_two_thirds_of_their_water() -> None:
    # FAO-56, Example 44, p. 194: dry bean, Ky 1.15, 1100 of 1800 kg/ha, so Ks is 0.66.
    assert yield_loss(0.66, 1.0, 1.15) == pytest.approx(1.0 - 1100.0 / 1800.0, abs=0.006)


@pytest.mark.parametrize(
    ("ky", "loss"),
    # FAO-56, Table 24, p. 181; a fifth of the water missing, eq. 90 by hand.
    [
        (1.25, 0.25),  # maize
        (0.95, 0.19),  # cabbage
        (1.15, 0.23),  # beans, peas
        (1.10, 0.22),  # onion, pepper, potato
        (1.05, 0.21),  # tomato
    ],
)
def test_a_fifth_of_the_water_missing(ky: float, loss: float) -> None:
    assert yield_loss(400.0, 500.0, ky) == pytest.approx(loss)


@pytest.mark.parametrize("at_least", [60.0, 95.0, 110.0, 150.0])
def test_a_hard_bound_cuts_a_normal_distribution_off(at_least: float) -> None:
    cut = stats.truncnorm((at_least - 100.0) / 12.0, float("inf"), loc=100.0, scale=12.0)
    volume, variance = corrected_by_bound(100.0, 144.0, at_least_l=at_least)
    assert volume == pytest.approx(cut.mean(), rel=1e-6)
    assert variance == pytest.approx(cut.var(), rel=1e-5)


@pytest.mark.parametrize("at_least", [80.0, 105.0, 130.0])
def test_a_soft_bound_by_integration(at_least: float) -> None:
    def weight(volume: float, power: int) -> float:
        says_so = stats.norm.cdf((volume - at_least) / 5.0)
        return float(volume**power * stats.norm.pdf(volume, 100.0, 12.0) * says_so)

    whole, first, second = (
        integrate.quad(weight, 0.0, 250.0, args=(power,), points=[at_least], epsabs=1e-13)[0]
        for power in (0, 1, 2)
    )
    volume, variance = corrected_by_bound(100.0, 144.0, at_least_l=at_least, bound_variance_l2=25.0)
    assert volume == pytest.approx(first / whole, rel=1e-7)
    assert variance == pytest.approx(second / whole - (first / whole) ** 2, rel=1e-5)
