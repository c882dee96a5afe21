"""Crops: the curve of the crop coefficient, the growth of roots, the effect of mulch."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from steepwell.model.crop import CropCurve, mulched_kc

# Green bean, FAO-56, Table 11 (p. 104 to 106), 12 (p. 110), 17 (p. 137), 22 (p. 163).
BEAN = CropCurve(
    stage_days=(20, 30, 30, 10), kc=(0.5, 1.05, 0.9), root_m=(0.1, 0.6), kcb=(1.0, 0.8)
)


@pytest.mark.parametrize(
    ("day", "kc"),
    # By hand: level, half way up, level, half way down, held.
    [(-5, 0.5), (0, 0.5), (20, 0.5), (35, 0.775), (50, 1.05), (80, 1.05), (85, 0.975), (120, 0.9)],
)
def test_the_coefficient_of_a_day(day: float, kc: float) -> None:
    assert BEAN.kc_on(day) == pytest.approx(kc)


@pytest.mark.parametrize(("day", "depth"), [(-3, 0.1), (0, 0.1), (25, 0.35), (50, 0.6), (90, 0.6)])
def test_roots_grow_until_mid_season(day: float, depth: float) -> None:
    assert BEAN.root_depth_m(day) == pytest.approx(depth)  # by hand, linear over 50 days


@pytest.mark.parametrize(
    ("day", "kcb"),
    # By hand: level, half way up from 0.15, level, half way down, held.
    [(-5, 0.15), (20, 0.15), (35, 0.575), (50, 1.0), (80, 1.0), (85, 0.9), (120, 0.8)],
)
def test_the_basal_coefficient_of_a_day(day: float, kcb: float) -> None:
    assert BEAN.kcb_on(day) == pytest.approx(kcb)


@pytest.mark.parametrize(
    ("day", "height"), [(0, 0.06), (20, 0.06), (35, 0.23), (50, 0.4), (85, 0.4), (120, 0.4)]
)
def test_a_crop_grows_with_its_coefficient_and_does_not_shrink(day: float, height: float) -> None:
    # FAO-56, Annex 8, p. 277: Kcb over Kcb mid times the full height, by hand for 0.4 m.
    assert BEAN.height_on(day) == pytest.approx(height)


@given(day=st.floats(-10.0, 200.0))
def test_the_dual_curve_lies_under_the_single_one(day: float) -> None:
    assert 0.0 <= BEAN.kcb_on(day) <= BEAN.kc_on(day)


@pytest.mark.parametrize(
    ("initial", "named", "expected"), [(0.5, None, 0.15), (0.1, None, 0.1), (0.4, 0.3, 0.3)]
)
def test_the_basal_coefficient_of_the_start(
    initial: float, named: float | None, expected: float
) -> None:
    # FAO-56, Table 17, p. 137: 0.15 for annual crops; strawberries 0.30, p. 138.
    crop = CropCurve(
        stage_days=(20, 30, 30, 10), kc=(initial, 1.0, 0.9), root_m=(0.1, 0.6), kcb_initial=named
    )
    assert crop.kcb_on(0.0) == pytest.approx(expected)


def test_a_crop_that_never_transpires_stands_all_the_same() -> None:
    crop = CropCurve(
        stage_days=(20, 30, 30, 10), kc=(0.0, 0.0, 0.0), root_m=(0.1, 0.6), height_m=0.5
    )
    assert crop.height_on(0.0) == pytest.approx(0.5)


@pytest.mark.parametrize(
    ("day", "stands"), [(-1, False), (0, True), (45, True), (90, True), (91, False)]
)
def test_in_the_ground(day: float, stands: bool) -> None:  # noqa: FBT001 - a table column
    assert bool(BEAN.in_ground(day)) is stands


def test_days_as_an_array() -> None:
    days = np.arange(-2.0, 95.0)
    assert BEAN.kc_on(days) == pytest.approx([BEAN.kc_on(float(day)) for day in days])
    assert BEAN.in_ground(days).sum() == BEAN.length_d + 1


@given(day=st.floats(-10.0, 200.0))
def test_the_basal_part_never_exceeds_the_whole(day: float) -> None:
    assert 0.0 <= BEAN.basal_kc_on(day) <= BEAN.kc_on(day)


def test_without_a_basal_coefficient_mulch_is_promised_the_least() -> None:
    crop = CropCurve(stage_days=(20, 30, 30, 10), kc=(0.5, 1.05, 0.9), root_m=(0.1, 0.6))
    # 0.05 is the least Kc - Kcb among the vegetables of FAO-56, Tables 12 and 17.
    assert crop.basal_kc_on(60.0) == pytest.approx(1.0)
    assert crop.basal_kc_on(200.0) == pytest.approx(0.85)


@given(kc=st.floats(0.0, 1.4), share=st.floats(0.0, 1.0), cover=st.floats(0.0, 1.0))
def test_mulch_lowers_between_nothing_and_half_of_evaporation(
    kc: float, share: float, cover: float
) -> None:
    basal = share * kc
    lowered = mulched_kc(kc, cover=cover, basal_kc=basal)
    assert (kc + basal) / 2.0 - 1e-12 <= lowered <= kc


@pytest.mark.parametrize("cover", [-0.1, 1.1])
def test_a_cover_beyond_the_surface_is_refused(cover: float) -> None:
    with pytest.raises(ValueError, match="cover"):
        mulched_kc(1.0, cover=cover, basal_kc=0.9)


@pytest.mark.parametrize(
    ("change", "named"),
    [
        ({"stage_days": (0, 30, 30, 10)}, "one day"),
        ({"kc": (0.5, -1.0, 0.9)}, "negative"),
        ({"root_m": (0.0, 0.6)}, "roots"),
        ({"root_m": (0.7, 0.6)}, "roots"),
        ({"kcb": (1.2, 0.8)}, "kcb"),
        ({"kcb": (1.0, -0.8)}, "kcb"),
        ({"kcb_initial": 0.6}, "kcb"),
        ({"height_m": 0.0}, "above 0 m"),
    ],
)
def test_a_crop_that_cannot_be_is_refused(change: dict[str, Any], named: str) -> None:
    sound: dict[str, Any] = {
        "stage_days": (20, 30, 30, 10),
        "kc": (0.5, 1.05, 0.9),
        "root_m": (0.1, 0.6),
    }
    with pytest.raises(ValueError, match=named):
        CropCurve(**(sound | change))
