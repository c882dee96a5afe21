"""Doses: what a spoon or a jug can measure, never stronger than due."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from steepwell.decide.dosing import dose


@pytest.mark.parametrize(
    ("can_l", "parts", "feed_ml", "text"),
    # By hand: 1000 x can / (1 + parts), then down to what can be measured.
    [
        (4.5, 300, 15.0, "1 tablespoon"),  # 14.95 mL
        (4.5, 400, 10.0, "2 teaspoons"),  # 11.22 mL
        (4.5, 500, 7.5, "1½ teaspoons"),  # 8.98 mL
        (5.0, 400, 12.5, "2½ teaspoons"),  # 12.47 mL
        (5.0, 500, 10.0, "2 teaspoons"),  # 9.98 mL
        (10.0, 500, 20.0, "1 tablespoon and 1 teaspoon"),  # 19.96 mL
        (
            10.0,
            300,
            30.0,
            "2 tablespoons",
        ),  # 33.2 mL; half a teaspoon more is not worth the trouble
        (10.0, 350, 27.5, "1 tablespoon and 2½ teaspoons"),  # 28.5 mL; 15 mL would lose half
        (1.26, 500, 2.5, "half a teaspoon"),  # 2.51 mL
        (2.5, 450, 5.0, "1 teaspoon"),  # 5.54 mL
        (2.0, 450, 4.0, "4 mL"),  # 4.43 mL; half a teaspoon would lose 44 %
        (1.6, 450, 3.0, "3 mL"),  # 3.55 mL; half a teaspoon would lose 30 %
        # A jug has marks at every 10 mL, a small one at every 5; fed thinner, never stronger.
        (10.0, 30, 320.0, "320 mL"),  # 322.6 mL; nobody counts 21 tablespoons
        (4.5, 30, 140.0, "140 mL"),  # 145.2 mL
        (9.0, 100, 85.0, "85 mL"),  # 89.1 mL
    ],
)
def test_a_dose_in_what_is_at_hand(can_l: float, parts: float, feed_ml: float, text: str) -> None:
    told = dose(can_l, parts)
    assert (told.feed_ml, told.cans, told.text) == (feed_ml, 1, text)


def test_too_little_for_one_can_is_mixed_for_two() -> None:
    told = dose(1.0, 400)  # 2.49 mL would do; 1.0 L at 1:500 takes 2.00 mL
    assert told.text == "half a teaspoon"
    told = dose(1.95, 500)  # 3.89 mL, of which 3 mL would lose more than a fifth
    assert (told.feed_ml, told.cans) == (7.5, 2)
    told = dose(1.0, 500)
    # 3.99 mL for two, of which 3 mL would lose a quarter: 19.96 mL of the stock for one.
    assert (told.feed_ml, told.cans) == (2.0, 1)
    told = dose(0.9, 500)  # 3.59 mL for two
    assert (told.feed_ml, told.cans, told.text) == (3.0, 2, "3 mL in two cans together")


def test_too_little_for_two_cans_comes_from_a_stock() -> None:
    told = dose(0.5, 500)  # 0.998 mL of feed, 9.98 mL of the stock
    assert told.text == "2 teaspoons of a labelled stock of one part feed to nine of water"
    assert (told.feed_ml, told.cans) == (1.0, 1)


def test_two_cans_asked_for_are_measured_together() -> None:
    assert dose(4.5, 450, cans=2).text == "1 tablespoon and 1 teaspoon"  # 19.96 mL
    assert dose(0.5, 500, cans=2).text.startswith("1 tablespoon and 1 teaspoon of a labelled")


def test_what_cannot_be_measured_at_all_is_refused() -> None:
    with pytest.raises(ValueError, match="larger can"):
        dose(0.1, 500)


@given(can_l=st.floats(0.2, 20.0), parts=st.floats(1.0, 500.0), cans=st.integers(1, 4))
def test_never_stronger_than_a_level_spoon_is_true(can_l: float, parts: float, cans: int) -> None:
    told = dose(can_l, parts, cans)
    due_ml = 1000.0 * can_l * told.cans / (1.0 + parts)
    assert told.feed_ml <= due_ml * 1.01
    assert told.feed_ml >= 0.8 * due_ml - 1e-9


@given(can_l=st.floats(0.2, 20.0), parts=st.floats(1.0, 500.0))
def test_spoons_lose_at_most_a_fifth(can_l: float, parts: float) -> None:
    told = dose(can_l, parts)
    due_ml = 1000.0 * can_l * told.cans / (1.0 + parts)
    if told.spoons is not None:
        assert told.feed_ml >= 0.8 * due_ml - 1e-9
        assert told.text.startswith(told.spoons)
