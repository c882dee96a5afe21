"""How much of the water that is given reaches the crop."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.gardens import crop_alone

from steepwell.decide.reaching import LEAST_REACHES, reaches


@pytest.mark.parametrize(
    ("kcb", "exposed", "cover", "share"),
    [
        # FAO-56, eq. 71, p. 142: with wet ground Ke is Kc max - Kcb, but at most few Kc max. Under
        # a canopy 0.1 beside 1.15, on ground 0.3 open 0.375 beside 0.7.
        (1.15, 0.1, 0.0, 1.15 / 1.25),
        (0.7, 0.3, 0.0, 0.7 / (0.7 + 0.375)),
        # Mulch on all of the ground halves that (ch. 10, p. 198).
        (0.7, 0.5, 1.0, 0.7 / (0.7 + 0.275)),
        # Between seedlings nobody waters.
        (0.15, 1.0, 0.0, LEAST_REACHES),
    ],
)
def test_crop_and_wet_ground_draw_side_by_side(
    kcb: float, exposed: float, cover: float, share: float
) -> None:
    one = np.ones((15, 2))
    asked = replace(
        crop_alone(15, 2),
        kcb=kcb * one,
        kc_max=1.25 * one,
        exposed=exposed * one,
        cover=cover * one,
    )
    found = reaches(asked, 2, np.array([True, False]))
    assert found == pytest.approx(np.full((1, 2), share))
