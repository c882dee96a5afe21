"""A letter says a thing once."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from tests.tell.conftest import NOW

from steepwell.tell.letter import LetterFacts, compose_letter

if TYPE_CHECKING:
    from collections.abc import Callable

    from steepwell.garden.garden import Garden

Json = dict[str, Any]


def test_when_to_leave_a_watering_is_said_once(
    garden: Garden, plan: Callable[..., Json], water: Callable[..., Json]
) -> None:
    lines = [water(), water(bed="leeks", days=["2031-06-09"]), water(bed="onions", days=[])]
    rules = (
        (1, "Skip it if your gauge catches more than 10 mm first."),
        (3, "Skip a watering if your gauge has more than 10 mm."),
    )
    for count, rule in rules:
        told = plan(water=lines[:count])
        letter = compose_letter(
            LetterFacts(garden=garden, person=garden.told.people[0], now=NOW, plan=told)
        )
        for kind in ("plain", "html"):
            body = letter.get_body((kind,))
            assert body is not None
            said = " ".join(str(body.get_content()).replace("\u00a0", " ").split())
            assert said.count("more than 10 mm") == 1
            assert rule in said
