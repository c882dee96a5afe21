"""What a day's rain brings to the butts, for one future or many."""

from __future__ import annotations

import numpy as np
import pytest
from tests.gardens import make_garden

from steepwell.outlook.butts import chain_of

ROOF = {"name": "shed", "area": "10 m2", "into": "north", "runoff": 0.8, "wetting_loss": "0.5 mm"}
RAIN_MM = np.array([0.0, 0.4, 2.5, 10.5])


@pytest.mark.parametrize(
    ("more", "expected"),
    [
        # By hand: (rain - 0.5 mm) x 10 m² x 0.8.
        ({}, [0.0, 0.0, 16.0, 80.0]),
        ({"share": "50 %", "filter_efficiency": "90 %"}, [0.0, 0.0, 7.2, 36.0]),
        # Each day's first 20 L are led away.
        ({"first_flush": "20 L"}, [0.0, 0.0, 0.0, 60.0]),
        # 0.4 L a minute are 24 L an hour, 3 mm an hour on this roof. Where it rains 2 mm an hour on
        # average, 1 - exp(-3/2) = 0.77687 falls no harder.
        ({"flow_cap": "0.4 L/min"}, [0.0, 0.0, 12.430, 62.150]),
        ({"flow_cap": "40 L/min"}, [0.0, 0.0, 16.0, 80.0]),
    ],
)
def test_a_days_rain_brings_what_is_left_after_all_losses(
    more: dict[str, object], expected: list[float]
) -> None:
    chain = chain_of(make_garden(roof=[{**ROOF, **more}]))
    assert chain.inflow_l(RAIN_MM)[0] == pytest.approx(expected, abs=1e-3)


def test_members_may_have_roofs_of_their_own() -> None:
    butts = [{"name": "north", "litres": "200 L"}, {"name": "south", "litres": "100 L"}]
    roofs = [ROOF, {**ROOF, "name": "porch", "area": "5 m2", "into": "south"}]
    chain = chain_of(make_garden(butt=butts, roof=roofs))
    rain_mm = np.array([2.5, 2.5, 10.5])
    runoff = np.array([[0.7, 0.8, 0.9], [0.5, 0.6, 1.0]])
    # By hand, 2, 2 and 10 mm on 10 and on 5 m².
    expected = np.array([[14.0, 16.0, 90.0], [5.0, 6.0, 50.0]])
    assert chain.inflow_l(rain_mm, runoff)[list(chain.order)] == pytest.approx(expected)


def test_a_season_at_once() -> None:
    chain = chain_of(make_garden(roof=[ROOF]))
    days = chain.inflow_l(np.tile(RAIN_MM[:, None], 3), np.full((1, 3), 0.8))
    assert days.shape == (1, 4, 3)
    assert days[0, :, 2] == pytest.approx([0.0, 0.0, 16.0, 80.0])


def test_without_roofs_nothing_comes() -> None:
    assert chain_of(make_garden()).inflow_l(RAIN_MM).tolist() == [[0.0] * 4]
