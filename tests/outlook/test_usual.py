"""What is usual on a date, in years of which the course can be told."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest
from tests.gardens import flat_record, make_garden

from steepwell.outlook.usual import Usual, usual_of

HALF = np.array([0.5])


def test_a_date_is_looked_up_in_its_own_season() -> None:
    days = np.arange(245.0)
    usual = Usual(date(2010, 3, 1), days[:, None] + [0.0, 2.0], days[:, None] >= [100, 200])
    assert usual.quantiles_l(date(2031, 3, 1), HALF) == [1.0]
    assert usual.quantiles_l(date(2032, 3, 11), HALF) == [11.0]
    assert np.isnan(usual.quantiles_l(date(2031, 2, 28), HALF)).all()
    assert np.isnan(usual.quantiles_l(date(2031, 11, 1), HALF)).all()
    # Day 100 is 9 June, when one of the two is dry.
    assert usual.p_dry_by(date(2031, 6, 1), 8) == 0.0
    assert usual.p_dry_by(date(2031, 6, 1), 9) == 0.5
    assert np.isnan(usual.p_dry_by(date(2031, 10, 25), 14))


def test_a_season_that_begins_in_september_goes_on_in_january() -> None:
    days = np.arange(245.0)
    usual = Usual(date(2010, 9, 1), days[:, None], days[:, None] > 400)
    # September, October, November and December have 122 days.
    assert usual.quantiles_l(date(2031, 1, 1), HALF) == [122.0]


@pytest.mark.parametrize(("rain_mm", "least_l"), [(0.0, 0.0), (30.0, 100.0)])
def test_what_is_usual_follows_from_the_record(rain_mm: float, least_l: float) -> None:
    """A bed of 10 m² draws less than 10 mm, 100 L, a day; 30 mm on the roof are 505 L."""
    garden = make_garden(roof=[{"name": "shed", "area": "20 m2", "into": "north"}])
    usual = usual_of(garden, flat_record(rain_mm=rain_mm))
    assert usual is not None
    (found_l,) = usual.quantiles_l(date(2031, 8, 1), HALF)
    assert least_l <= found_l <= least_l + 100.0
    assert usual.p_dry_by(date(2031, 7, 1), 14) == float(rain_mm == 0.0)


def test_without_a_record_nothing_is_usual() -> None:
    assert usual_of(make_garden(), None) is None
    assert usual_of(make_garden(), flat_record(date(2000, 5, 1), date(2000, 7, 1))) is None


def test_what_is_usual_depends_on_the_gardener() -> None:
    """Without rain 900 L last for weeks; who gives half of what is drawn has more left."""
    garden = make_garden(butt=[{"name": "north", "litres": "900 L"}])
    left = []
    for use_factor in (1.0, 0.5):
        usual = usual_of(garden, flat_record(), every_d=7, use_factor=use_factor)
        assert usual is not None
        left.append(float(usual.quantiles_l(date(2031, 3, 10), HALF)[0]))
    assert left[1] - 450.0 == pytest.approx(left[0] / 2.0)
