"""What a garden that rests is told."""

from __future__ import annotations

import dataclasses
import re
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

import pytest

from steepwell.tell.letter import LetterFacts, compose_letter
from steepwell.tell.resting import is_first_of_month

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

    from steepwell.garden.garden import Garden
    from steepwell.garden.site import Person

Json = dict[str, Any]


@pytest.fixture
def facts(
    garden: Garden, person: Person, plan: Callable[..., Json], outlook: Json, now: datetime
) -> LetterFacts:
    return LetterFacts(garden=garden, person=person, now=now, plan=plan(), outlook=outlook)


@pytest.mark.parametrize("month", range(1, 13))
def test_one_weekly_letter_a_month(month: int) -> None:
    first = date(2031, month, 3)
    letters = [first + timedelta(days=7 * week) for week in range(5)]
    here = [day for day in letters if day.month == month]
    assert [is_first_of_month(day) for day in here] == [True] + [False] * (len(here) - 1)


def test_three_lines_and_nothing_else(facts: LetterFacts) -> None:
    mail = compose_letter(dataclasses.replace(facts, rests=True))
    body = mail.get_body(("plain",))
    assert body is not None
    text = body.get_content()
    letter, _, signed = text.partition("\n-- \n")
    assert "L in hand." in letter
    assert "steepwell note woken" in letter.replace("\n", " ")
    for left_out in ("This week", "Water:", "Take care", "1. "):
        assert left_out not in letter
    assert signed.startswith("Steepwell, for ")
    assert re.fullmatch(r"At rest, [\d,.]+ L in hand", mail["Subject"])
    assert "This week" not in (mail.get_body(("html",)) or body).get_content()
