"""The reasons of a ration."""

from __future__ import annotations

import math
from datetime import date

import pytest

from steepwell.decide.ration_words import why_left, why_watered
from steepwell.outlook.calendar import Stay
from steepwell.outlook.state import BedNow

TODAY = date(2031, 7, 15)
# In flower, ripening, and without growth periods of its own.
BEANS = Stay("bean", date(2031, 5, 20), date(2031, 8, 25))
ONIONS = Stay("onion", date(2031, 3, 25), date(2031, 8, 20))
LETTUCE = Stay("lettuce", date(2031, 6, 1), date(2031, 8, 20))


def bed(depletion_mm: float) -> BedNow:
    return BedNow("all", depletion_mm, 52.0, 18.2, "bean")


@pytest.mark.parametrize(
    ("standing", "depletion_mm", "thirsty_in_d", "most_to_lose", "words"),
    [
        (BEANS, 20.0, 0, True, "in flower, and dry already; it has most to lose"),
        (BEANS, 20.0, 0, False, "in flower, and dry already"),
        (BEANS, 15.0, 1, False, "in flower, and dry by tomorrow unless it rains"),
        (LETTUCE, 10.0, 4, False, "dry in 4 days unless it rains"),
        (LETTUCE, 10.0, math.inf, False, "dry before long unless it rains"),
    ],
)
def test_why_a_bed_gets_water(
    standing: Stay, depletion_mm: float, thirsty_in_d: float, *, most_to_lose: bool, words: str
) -> None:
    told = why_watered(bed(depletion_mm), standing, TODAY, thirsty_in_d, most_to_lose=most_to_lose)
    assert told == words


@pytest.mark.parametrize(
    ("standing", "depletion_mm", "thirsty_in_d", "meant_mm", "words", "stop"),
    [
        (ONIONS, 20.0, 0, 0.0, "ripening, and keeps better for being dry", True),
        (LETTUCE, 20.0, 0, 0.0, "dry, but others lose more", False),
        (
            LETTUCE,
            10.0,
            3,
            0.0,
            "dry within the week unless it rains, but others lose more",
            False,
        ),
        (ONIONS, 10.0, 3, 1.5, "wants less this week than is worth the way", False),
        (ONIONS, 3.0, 9, 0.0, "holds out till about 24 July", False),
        (BEANS, 3.0, math.inf, 0.0, "holds out through the weeks ahead", False),
    ],
)
def test_why_a_bed_gets_none(
    standing: Stay,
    depletion_mm: float,
    thirsty_in_d: float,
    meant_mm: float,
    words: str,
    *,
    stop: bool,
) -> None:
    told = why_left(
        bed(depletion_mm), standing, TODAY, thirsty_in_d, meant_mm=meant_mm, others_get=True
    )
    assert told == (words, stop)


@pytest.mark.parametrize(
    ("standing", "words", "stop"),
    [
        (LETTUCE, "dry, but the water does more good later", False),
        (ONIONS, "ripening, and keeps better for being dry", True),
    ],
)
def test_why_nobody_gets_any(standing: Stay, words: str, *, stop: bool) -> None:
    told = why_left(bed(20.0), standing, TODAY, 0, meant_mm=0.0, others_get=False)
    assert told == (words, stop)
