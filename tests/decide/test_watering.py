"""Sharing out the water of a week, worked out by hand."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.gardens import make_garden, state_of

from steepwell.decide.watering import share_water

NOW = datetime(2031, 6, 6, 6, 30, tzinfo=UTC)
CAN_L = 10.0


def shared(in_hand_l: float, wanted_l: dict[str, float], **priority: float) -> dict[str, float]:
    """Return the litres each of some beds of 2 m² is given; they have 30 mm less than they can."""
    bed = [{"name": n, "area": "2 m2", "priority": priority.get(n, 1.0)} for n in wanted_l]
    butt = [{"name": "north", "litres": "1000 L"}]
    garden = make_garden(bed=bed, butt=butt, can={"size": f"{CAN_L} L"})
    state = state_of(garden, NOW, litres=[in_hand_l], depletion_mm=[30.0] * len(bed))
    return {line.bed: line.litres for line in share_water(garden, state, wanted_l)}


@pytest.mark.parametrize(
    ("in_hand_l", "given_l"),
    [
        # Enough for all: each gets what it wants.
        (1000.0, {"beans": 80.0, "leeks": 80.0, "kale": 40.0}),
        # A soaking of 15 L/m² is 30 L a bed; what is left goes on in the same order.
        (110.0, {"beans": 50.0, "leeks": 30.0, "kale": 30.0}),
        (90.0, {"beans": 30.0, "leeks": 30.0, "kale": 30.0}),
        (70.0, {"beans": 30.0, "leeks": 30.0, "kale": 10.0}),
        # 5 L are less than 5 L/m², so that the last bed gets none of them.
        (65.0, {"beans": 35.0, "leeks": 30.0, "kale": 0.0}),
        (4.0, {"beans": 0.0, "leeks": 0.0, "kale": 0.0}),
    ],
)
def test_all_get_a_soaking_before_anybody_gets_more(
    in_hand_l: float, given_l: dict[str, float]
) -> None:
    wanted_l = {"beans": 80.0, "leeks": 80.0, "kale": 40.0}
    assert shared(in_hand_l, wanted_l, beans=1.2, leeks=1.1) == given_l


@given(
    in_hand_l=st.floats(0.0, 1000.0),
    wanted_l=st.lists(st.floats(1.0, 300.0), min_size=1, max_size=6),
)
def test_no_more_is_shared_out_than_there_is(in_hand_l: float, wanted_l: list[float]) -> None:
    given_l = shared(in_hand_l, {f"bed-{n}": litres for n, litres in enumerate(wanted_l)})
    assert sum(given_l.values()) <= in_hand_l + 1e-6
    for litres in given_l.values():
        assert litres % (CAN_L / 2) == 0.0
        assert litres == 0.0 or litres >= 5.0 * 2.0


@pytest.mark.parametrize(
    ("in_hand_l", "reason"),
    [
        (35.0, "dry, but the water goes first to beds that lose more"),
        (4.0, "dry, and so are the butts"),
    ],
)
def test_a_bed_left_dry_is_told_why(in_hand_l: float, reason: str) -> None:
    bed = [{"name": "beans", "area": "3 m2", "priority": 1.2}, {"name": "kale", "area": "3 m2"}]
    garden = make_garden(bed=bed, can={"size": "10 L"})
    state = state_of(garden, NOW, litres=[in_hand_l], depletion_mm=[30.0, 30.0])
    assert share_water(garden, state, {"beans": 90.0, "kale": 90.0})[-1].reason == reason
