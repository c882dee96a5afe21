"""How dry it has been, as the letter says it where water is short."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

import pytest

from steepwell.tell.documents import Dryness
from steepwell.tell.dry_words import dry_words
from steepwell.tell.letter import LetterFacts, compose_letter

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

    from steepwell.garden.garden import Garden
    from steepwell.garden.site import Person

Json = dict[str, Any]

TODAY = date(2031, 8, 1)


def span(months: int, spi: float | None, since: int | None = None) -> Json:
    return {
        "months": months,
        "rain_mm": 45.2,
        "usual_mm": 151.0,
        "spi": spi,
        "wetness": None,
        "driest_since": since,
    }


def dry(below_1: int, below_0_2: int, *rain: Json) -> Json:
    return {
        "days_below_1_mm": below_1,
        "days_below_0_2_mm": below_0_2,
        "longest_dry_run_d": below_1,
        "rain": list(rain),
    }


@pytest.mark.parametrize(
    ("document", "words"),
    [
        (dry(14, 14), ""),
        (dry(22, 14), "22 days without 1 mm of rain."),
        (dry(22, 15), "15 days without rain to speak of."),
        (dry(0, 0, span(3, -0.99, 1997)), ""),
        (dry(0, 0, span(3, None, 1997)), ""),
        (
            dry(0, 0, span(1, -1.1, 2015), span(3, -1.4, 1997), span(6, -1.2, 2001)),
            "The driest three months for the time of year since 1997.",
        ),
        (dry(0, 0, span(1, -1.4, 1997)), "The driest month for the time of year since 1997."),
        (
            dry(0, 0, span(1, -1.4, 2029)),
            "45 mm of rain in the last month, where 151 mm are usual.",
        ),
        (dry(0, 0, span(6, -2.5)), "45 mm of rain in the last six months, where 151 mm are usual."),
        (
            dry(22, 3, span(1, -1.4, 1997)),
            "22 days without 1 mm of rain, and the driest month for the time of year since 1997.",
        ),
    ],
)
def test_what_is_unusual_is_said_in_a_sentence(document: Json, words: str) -> None:
    assert dry_words(Dryness.model_validate(document), TODAY) == words


def test_nothing_is_said_of_what_is_not_known() -> None:
    assert dry_words(None, TODAY) == ""


@pytest.mark.parametrize(("short", "count"), [(True, 1), (False, 0)])
def test_the_letter_says_it_where_water_is_short(
    garden: Garden,
    person: Person,
    now: datetime,
    plan: Callable[..., Json],
    outlook: Json,
    *,
    short: bool,
    count: int,
) -> None:
    outlook["dryness"] = dry(22, 3)
    lines = plan()["water"] if short else plan()["water"][:1]
    mail = compose_letter(
        LetterFacts(garden=garden, person=person, now=now, plan=plan(water=lines), outlook=outlook)
    )
    text = mail.get_body(("plain",))
    assert text is not None
    assert text.get_content().count("22 days without 1 mm of rain.") == count
