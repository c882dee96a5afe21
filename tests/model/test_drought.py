"""Drought: totals, classes, and what a fit does with dry years and gaps."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from steepwell.model.drought import RainFit, fit_rain, spi, wetness

FIT = RainFit(shape=2.4, scale_mm=21.0, dry_share=0.05)


@given(lower=st.floats(0.0, 400.0), more=st.floats(0.0, 400.0))
def test_more_rain_is_never_drier(lower: float, more: float) -> None:
    assert spi(lower, FIT) <= spi(lower + more, FIT)


@pytest.mark.parametrize(
    ("total", "index"), [(0.0, -1.6449), (1e6, 3.0902)], ids=["none", "deluge"]
)
def test_the_ends_of_the_index(total: float, index: float) -> None:
    # Normal quantiles of 0.05, the share of dry years, and of 0.999: any table.
    assert spi(total, FIT) == pytest.approx(index, abs=1e-4)


def test_a_first_dry_year_is_as_rare_as_can_be_told() -> None:
    never_dry = RainFit(shape=2.4, scale_mm=21.0, dry_share=0.0)
    assert spi(0.0, never_dry) == pytest.approx(-3.0902, abs=1e-4)


def test_gaps_are_left_out() -> None:
    with_gaps = fit_rain([40.0, np.nan, 60.0, 0.0, np.nan])
    assert with_gaps == fit_rain([40.0, 60.0, 0.0])
    assert with_gaps.dry_share == pytest.approx(1.0 / 3.0)
    assert np.isnan(spi(float("nan"), with_gaps))


@pytest.mark.parametrize(
    "totals", [[], [0.0, 0.0], [5.0], [5.0, 5.0, 5.0], [5.0, 8.0, -1.0]], ids=str
)
def test_what_cannot_be_fitted_is_refused(totals: list[float]) -> None:
    with pytest.raises(ValueError, match="two different amounts"):
        fit_rain(totals)


@pytest.mark.parametrize(
    ("index", "words"),
    # WMO-No. 1090 (2012), Table 1.
    [
        (2.0, "extremely wet"),
        (1.99, "very wet"),
        (1.5, "very wet"),
        (1.49, "moderately wet"),
        (1.0, "moderately wet"),
        (0.99, "near normal"),
        (-0.99, "near normal"),
        (-1.0, "moderately dry"),
        (-1.49, "moderately dry"),
        (-1.5, "severely dry"),
        (-1.99, "severely dry"),
        (-2.0, "extremely dry"),
    ],
)
def test_classes(index: float, words: str) -> None:
    assert wetness(index) == words
