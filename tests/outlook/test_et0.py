"""Evapotranspiration by temperature, corrected by what a record knows better."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest
from tests.gardens import flat_record

from steepwell.outlook.et0 import daily_et0_mm, hargreaves_bias, radiation_of

if TYPE_CHECKING:
    from steepwell.outlook.record import Record

LYON_DEG = 45 + 43 / 60
NO_BIAS = np.ones(12)


def biased_record(last: date, factors: dict[int, float]) -> Record:
    """Return a record of which ET0 is so many times that of Hargreaves in some months."""
    record = flat_record(date(2000, 1, 1), last, tmin_c=8.0, tmax_c=21.0)
    by_temperature = daily_et0_mm(
        record.tmin_c, record.tmax_c, record.first, latitude_deg=LYON_DEG, bias=NO_BIAS
    )
    for day in range(record.days):
        month = (record.first + timedelta(days=day)).month
        record.et0_mm[day] = factors.get(month, np.nan) * by_temperature[day]
    return record


def test_radiation_above_the_air() -> None:
    # FAO-56, Example 8, p. 47: 3 September at 20° S, 32.2 MJ/m²; Annex 2, Table 2.6, by eq. 21
    # for the 15th of June at 52° N, 41.6 MJ/m².
    assert radiation_of(date(2031, 9, 3), 1, -20.0) == pytest.approx([32.2], abs=0.05)
    assert radiation_of(date(2031, 6, 14), 3, 52.0)[1] == pytest.approx(41.6, abs=0.05)


def test_evapotranspiration_of_a_day() -> None:
    # FAO-56, Example 20, p. 78: July in Lyon, 26.6 and 14.8 °C, 5.0 mm/d.
    tmin, tmax = np.array([14.8]), np.array([26.6])
    et0 = daily_et0_mm(tmin, tmax, date(2031, 7, 15), latitude_deg=LYON_DEG, bias=NO_BIAS)
    assert et0 == pytest.approx([5.0], abs=0.05)


def test_members_are_computed_like_single_days() -> None:
    first, rng = date(2031, 4, 29), np.random.default_rng(1)
    tmin = rng.uniform(0.0, 10.0, (5, 3))
    tmax = tmin + rng.uniform(1.0, 10.0, (5, 3))
    bias = np.linspace(0.5, 1.6, 12)
    both = daily_et0_mm(tmin, tmax, first, latitude_deg=LYON_DEG, bias=bias)
    for member in range(3):
        alone = daily_et0_mm(
            tmin[:, member], tmax[:, member], first, latitude_deg=LYON_DEG, bias=bias
        )
        np.testing.assert_allclose(both[:, member], alone)


def test_the_factor_is_that_of_the_month_of_the_day() -> None:
    bias = np.where(np.arange(1, 13) == 5, 0.5, 1.0)
    values = (np.full(3, 10.0), np.full(3, 20.0))
    first = date(2031, 4, 30)
    plain = daily_et0_mm(*values, first, latitude_deg=LYON_DEG, bias=NO_BIAS)
    halved = daily_et0_mm(*values, first, latitude_deg=LYON_DEG, bias=bias)
    assert halved / plain == pytest.approx([1.0, 0.5, 0.5])


def test_a_record_a_fifth_lower_gives_four_fifths_for_every_month() -> None:
    record = biased_record(date(2009, 12, 31), dict.fromkeys(range(1, 13), 0.8))
    assert hargreaves_bias(record, LYON_DEG) == pytest.approx(np.full(12, 0.8))


def test_every_month_has_a_factor_of_its_own() -> None:
    factors = {month: 0.5 + 0.1 * month for month in range(1, 13)}
    record = biased_record(date(2009, 12, 31), factors)
    assert hargreaves_bias(record, LYON_DEG) == pytest.approx(list(factors.values()))


def test_gaps_do_not_count() -> None:
    record = biased_record(date(2009, 12, 31), dict.fromkeys(range(1, 13), 0.8))
    record.et0_mm[::7] = np.nan
    record.tmin_c[::11] = np.nan
    assert hargreaves_bias(record, LYON_DEG) == pytest.approx(np.full(12, 0.8))


@pytest.mark.parametrize(("last", "expected"), [(2004, 0.8), (2003, 1.0)])
def test_four_months_of_a_name_are_too_few(last: int, expected: float) -> None:
    record = biased_record(date(last, 12, 31), {6: 0.8})
    bias = hargreaves_bias(record, LYON_DEG)
    assert bias[5] == pytest.approx(expected)
    assert (np.delete(bias, 5) == 1.0).all()


@pytest.mark.parametrize("record", [None, flat_record()])
def test_without_et0_nothing_is_corrected(record: Record | None) -> None:
    assert (hargreaves_bias(record, LYON_DEG) == 1.0).all()
