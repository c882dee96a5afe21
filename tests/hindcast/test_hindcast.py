"""The judging of outlooks itself, and a taste of the campaign."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import pytest
from tests.gardens import flat_record, make_garden
from tests.hindcast.campaign import judged
from tests.hindcast.marks import dry, leads
from tests.hindcast.rig import ISSUES_D, LEADS_D, hindcast, without_year

from steepwell.outlook.record import read_record

if TYPE_CHECKING:
    from pathlib import Path


def test_a_year_left_out_is_not_known(brussels_csv: Path) -> None:
    record = read_record(brussels_csv)
    known = without_year(record, 1990)
    begin, end = ((date(year, 1, 1) - record.first).days for year in (1990, 1991))
    for name in ("rain_mm", "tmin_c", "tmax_c", "et0_mm"):
        column, whole = getattr(known, name), getattr(record, name)
        assert np.isnan(column[begin:end]).all()
        np.testing.assert_array_equal(column[:begin], whole[:begin])
        np.testing.assert_array_equal(column[end:], whole[end:])
        assert not np.isnan(whole).any()


def test_weather_that_is_always_alike_is_foreseen() -> None:
    """Where all years are one, members, truth and the other years are one too.

    A roof of 4 m² and 2 mm a day bring less than a bed under glass draws, so the butt of 900 L runs
    dry in some week, and all outlooks know in which.
    """
    garden = make_garden(
        butt=[{"name": "north", "litres": "900 L"}],
        roof=[{"name": "shed", "area": "4 m2", "into": "north"}],
        bed=[{"name": "border", "area": "4 m2", "kind": "greenhouse"}],
    )
    record = flat_record(rain_mm=2.0)
    found = hindcast(garden, record, years=(2003, 2004), members=9)
    assert found.years == (2003, 2004)
    assert found.truth_l.shape == (2, len(ISSUES_D), len(LEADS_D))
    np.testing.assert_allclose(found.members_l, np.repeat(found.truth_l[..., None], 9, axis=-1))
    np.testing.assert_allclose(found.climate_l, np.repeat(found.truth_l[..., None], 10, axis=-1))
    np.testing.assert_array_equal(found.p_dry, found.dry.astype(float))
    np.testing.assert_array_equal(found.climate_dry, found.dry.astype(float))
    assert set(found.dry.ravel().tolist()) == {True, False}
    # What is there a week after an issue is the level of the next issue.
    np.testing.assert_allclose(found.truth_l[:, :-1, 0], found.level_l[:, 1:])
    assert (found.level_l[:, 0] == 900.0).all()
    for lead in leads(found):
        assert lead.crps_l == pytest.approx(0.0, abs=1e-9)
        assert lead.over_level == pytest.approx(1.0)


def test_a_taste_of_a_record(brussels_csv: Path) -> None:
    """Two years are few: the bounds are wider than the marks of the campaign."""
    found = judged(brussels_csv, quick=True)
    for lead in leads(found):
        assert 0.6 < lead.central < 0.97
        assert lead.over_level > 0.2
    assert dry(found).brier.score < dry(found).brier.uncertainty
