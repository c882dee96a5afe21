from __future__ import annotations

import math

import pytest

from steepwell.errors import JournalError
from steepwell.garden.water import Butt, ConeFrustumShape, UprightCylinderShape
from steepwell.sense.hand import is_rough, level_in_litres

# 0.5 m wide and 1 m high.
ROUND = Butt(
    name="north",
    shape=UprightCylinderShape(kind="upright cylinder", diameter="50 cm", height="1 m"),
)
ROUND_L = 1000 * math.pi / 4 * 0.5**2
LABELLED = Butt(name="south", litres="200 L")


@pytest.mark.parametrize(
    ("text", "share"),
    [
        ("full", 1.0),
        ("empty", 0.0),
        ("half", 0.5),
        ("Half full", 0.5),
        ("about half full", 0.5),
        ("roughly a third", 1 / 3),
        ("full to the brim", 1.0),
        ("overflowing", 1.0),
        ("37,5 %", 0.375),
        ("a half", 0.5),
        ("a third", 1 / 3),
        ("two thirds", 2 / 3),
        ("a quarter full", 0.25),
        ("three quarters", 0.75),
        ("three-quarters full", 0.75),
        ("3 of 5 full", 0.6),
        ("3 of 5", 0.6),
        ("3 out of 5", 0.6),
        ("3/4", 0.75),
        ("40 %", 0.4),
        ("40% full", 0.4),
        ("102 %", 1.0),
        ("0 %", 0.0),
    ],
)
def test_a_share_is_a_share_of_the_depth(text: str, share: float) -> None:
    assert level_in_litres(text, ROUND) == pytest.approx(share * ROUND_L)
    assert level_in_litres(text, LABELLED) == pytest.approx(share * 200)


def test_half_of_a_butt_that_widens_is_less_than_half_of_its_litres() -> None:
    shape = ConeFrustumShape(
        kind="cone frustum", bottom_diameter="40 cm", top_diameter="60 cm", height="1 m"
    )
    butt = Butt(name="wide", shape=shape)
    # A frustum holds h·π/12·(D² + Dd + d²): 0.5 m of 0.4 to 0.5 m are 79.85 L, of 198.97 L in all.
    assert level_in_litres("half", butt) == pytest.approx(79.85, abs=0.01)
    assert level_in_litres("full", butt) == pytest.approx(198.97, abs=0.01)


@pytest.mark.parametrize(
    ("text", "litres"),
    [
        ("120 L", 120.0),
        ("120 l", 120.0),
        ("120 litres", 120.0),
        ("0.12 m^3", 120.0),
        # An imperial gallon is 4.54609 L (Weights and Measures Act 1985, schedule 1, from memory).
        ("20 imperial_gallon", 90.92),
        ("18 cm from the lid", 0.82 * ROUND_L),
        ("18 cm from lid", 0.82 * ROUND_L),
        ("180 mm below the rim", 0.82 * ROUND_L),
        ("0 cm from the lid", ROUND_L),
        ("42 cm deep", 0.42 * ROUND_L),
        ("42 cm of water", 0.42 * ROUND_L),
    ],
)
def test_litres_and_depths_are_understood(text: str, litres: float) -> None:
    assert level_in_litres(text, ROUND) == pytest.approx(litres, abs=0.01)


@pytest.mark.parametrize(
    ("butt", "text", "message"),
    [
        (ROUND, "lots", "'lots' is no level; say for instance"),
        (ROUND, "", "'' is no level; say for instance"),
        (ROUND, "12", "'12' is no level; say for instance"),
        (ROUND, "12 kg", "'12 kg' is no level; say for instance"),
        (ROUND, "12 kg deep", "'12 kg deep' cannot be read: 'kg' is not"),
        (ROUND, "6 of 5", "'6 of 5' would be above the top of 'north'; read it again"),
        (ROUND, "3 of 0", "'3 of 0' is no level"),
        (ROUND, "400 L", "'400 L' would be above the top of 'north'; read it again"),
        (ROUND, "140 cm from the lid", "would be below the floor of 'north'; read it again"),
        (ROUND, "140 cm deep", "would be above the top of 'north'; read it again"),
        (LABELLED, "18 cm from the lid", "of which only the litres are known"),
        (LABELLED, "42 cm deep", "of which only the litres are known"),
    ],
)
def test_what_is_no_level_is_refused(butt: Butt, text: str, message: str) -> None:
    with pytest.raises(JournalError, match=message):
        level_in_litres(text, butt)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("half", True),
        ("3 of 5 full", True),
        ("40 %", True),
        ("Three quarters", True),
        ("full", False),
        ("empty", False),
        ("120 L", False),
        ("18 cm from the lid", False),
        ("42 cm deep", False),
    ],
)
def test_a_share_told_by_eye_is_rough(text: str, *, expected: bool) -> None:
    assert is_rough(text) == expected
