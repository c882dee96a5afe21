"""What members make of an uncertain state."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest
from tests.gardens import make_garden, state_of

from steepwell.outlook.draws import USE_UNCERTAINTY, certain, uncertain
from steepwell.outlook.state import RoofNow

NOW = datetime(2031, 6, 1, tzinfo=UTC)
ROOF = {"name": "shed", "area": "10 m2", "into": "north"}
GARDEN = make_garden(butt=[{"name": "north", "litres": "200 L"}], roof=[ROOF])
MEMBERS = 4000


def test_what_is_certain_is_the_same_for_all() -> None:
    draws = certain(GARDEN, replace(state_of(GARDEN, NOW, litres=[120.0]), use_factor=0.5), 3)
    assert draws.volume_l.tolist() == [[120.0] * 3]
    assert draws.use_factor.tolist() == [0.5] * 3
    # By default.
    assert draws.runoff.tolist() == [[0.85] * 3]


def test_members_are_as_far_apart_as_knowledge_is_uncertain() -> None:
    state = state_of(GARDEN, NOW, litres=[100.0])
    state = replace(
        state,
        butts=(replace(state.butts[0], sd_l=8.0),),
        roofs=(RoofNow("shed", 0.7, 0.05),),
        use_factor=0.8,
    )
    draws = uncertain(GARDEN, state, MEMBERS, seed=1)
    # Four standard errors of 4,000 draws: of a mean sd/63, of a standard deviation sd/89.
    for drawn, mean, sd in (
        (draws.volume_l[0], 100.0, 8.0),
        (draws.runoff[0], 0.7, 0.05),
        (np.log(draws.use_factor), np.log(0.8), USE_UNCERTAINTY),
    ):
        assert drawn.mean() == pytest.approx(mean, abs=4 * sd / 63)
        assert drawn.std() == pytest.approx(sd, abs=4 * sd / 89)
    again = uncertain(GARDEN, state, MEMBERS, seed=1)
    assert (again.volume_l == draws.volume_l).all()
    other = uncertain(GARDEN, state, MEMBERS, seed=2)
    assert (other.volume_l != draws.volume_l).any()


def test_nothing_is_drawn_that_cannot_be() -> None:
    state = state_of(GARDEN, NOW, litres=[195.0])
    state = replace(state, butts=(replace(state.butts[0], sd_l=60.0),))
    state = replace(state, roofs=(RoofNow("shed", 0.95, 0.2),))
    draws = uncertain(GARDEN, state, MEMBERS, seed=1)
    assert draws.volume_l.min() >= 0.0
    assert draws.volume_l.max() == 200.0
    assert draws.runoff.max() == 1.0
