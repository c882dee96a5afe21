"""Evaporation: the shares and limits that the day of a bed is made of."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from steepwell.model.evaporation import (
    evaporation_coefficient,
    evaporation_reduction,
    exposed_share,
    total_evaporable_mm,
    wetted_share,
)


@pytest.mark.parametrize(
    ("surface", "rew", "kr"),
    # By hand, eq. 74 with TEW of 20 mm; the last three where all of it evaporates freely.
    [
        (0.0, 8.0, 1.0),
        (8.0, 8.0, 1.0),
        (14.0, 8.0, 0.5),
        (20.0, 8.0, 0.0),
        (25.0, 8.0, 0.0),
        (0.0, 20.0, 1.0),
        (19.0, 25.0, 1.0),
        (20.0, 20.0, 0.0),
    ],
)
def test_reduction_runs_from_rew_to_tew(surface: float, rew: float, kr: float) -> None:
    assert evaporation_reduction(surface, 20.0, rew) == pytest.approx(kr)


@pytest.mark.parametrize(
    ("cover", "wetted", "exposed"),
    [(0.0, 1.0, 1.0), (0.3, 1.0, 0.7), (0.3, 0.4, 0.4), (1.0, 1.0, 0.01), (0.5, 0.0, 0.01)],
)
def test_exposed_and_wetted(cover: float, wetted: float, exposed: float) -> None:
    assert exposed_share(cover, wetted) == pytest.approx(exposed)  # by hand, eq. 75


@pytest.mark.parametrize(
    ("rain", "irrigation", "wetted"),
    # FAO-56, p. 149: watering alone or with rain, significant rain, little rain, nothing.
    [(0.0, 5.0, 0.4), (9.0, 5.0, 0.4), (3.0, 0.0, 1.0), (2.9, 0.0, 0.6), (0.0, 0.0, 0.6)],
)
def test_the_last_water_says_what_is_wet(rain: float, irrigation: float, wetted: float) -> None:
    computed = wetted_share(0.6, rain_mm=rain, irrigation_mm=irrigation, irrigation_share=0.4)
    assert computed == pytest.approx(wetted)


def test_members_wet_by_different_water() -> None:
    computed = wetted_share(
        np.array([0.6, 0.6, 0.6]),
        rain_mm=np.array([0.0, 9.0, 9.0]),
        irrigation_mm=np.array([0.0, 0.0, 5.0]),
        irrigation_share=0.4,
    )
    assert computed == pytest.approx([0.6, 1.0, 0.4])


@given(
    reduction=st.floats(0.0, 1.0),
    kcb=st.floats(0.0, 1.2),
    exposed=st.floats(0.01, 1.0),
    cover=st.floats(0.0, 1.0),
)
def test_mulch_leaves_between_half_and_all_of_evaporation(
    reduction: float, kcb: float, exposed: float, cover: float
) -> None:
    bare, mulched = (
        evaporation_coefficient(reduction, kcb=kcb, kc_max=1.25, exposed=exposed, mulch_cover=share)
        for share in (0.0, cover)
    )
    assert 0.5 * bare - 1e-12 <= mulched <= bare
    assert bare + kcb <= 1.25 + 1e-12


@pytest.mark.parametrize("cover", [-0.1, 1.1])
def test_a_cover_beyond_the_surface_is_refused(cover: float) -> None:
    with pytest.raises(ValueError, match="cover"):
        evaporation_coefficient(1.0, kcb=0.15, kc_max=1.2, exposed=1.0, mulch_cover=cover)
    with pytest.raises(ValueError, match="cover"):
        total_evaporable_mm(0.23, 0.10, residue_cover=cover)


@pytest.mark.parametrize(("field_capacity", "layer"), [(0.05, 0.1), (0.04, 0.1), (0.23, 0.0)])
def test_a_layer_that_can_lose_nothing_is_refused(field_capacity: float, layer: float) -> None:
    with pytest.raises(ValueError, match="evaporate nothing"):
        total_evaporable_mm(field_capacity, 0.10, layer_m=layer)
