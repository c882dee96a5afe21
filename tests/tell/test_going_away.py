"""What is told before an absence, and to who waters meanwhile."""

from __future__ import annotations

import dataclasses
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest

from steepwell.store.entries import Away
from steepwell.tell.documents import Plan
from steepwell.tell.going_away import sheet_page, sheet_text
from steepwell.tell.letter import LetterFacts, compose_letter, compose_sheet

if TYPE_CHECKING:
    from collections.abc import Callable
    from email.message import EmailMessage

    from steepwell.garden.garden import Garden
    from steepwell.garden.site import Person

Json = dict[str, Any]
NOTED = datetime(2031, 6, 1, 9, 0, tzinfo=UTC)


def absence(helper: str | None) -> Away:
    days = {"from": "2031-06-08", "to": "2031-06-21"}
    return Away.model_validate({"at": NOTED, "helper": helper, **days})


def text_of(mail: EmailMessage) -> str:
    body = mail.get_body(("plain",))
    assert body is not None
    return " ".join(str(body.get_content()).split())


@pytest.fixture
def facts(
    garden: Garden, person: Person, plan: Callable[..., Json], outlook: Json, now: datetime
) -> LetterFacts:
    return LetterFacts(garden=garden, person=person, now=now, plan=plan(), outlook=outlook)


@pytest.mark.parametrize(
    ("helper", "told"),
    [
        (None, "You are away 8 to 21 June, and nobody waters."),
        ("robin", 'Print the sheet with cans and butts: "steepwell plan --sheet FILE.html".'),
    ],
)
def test_the_letter_before_an_absence(facts: LetterFacts, helper: str | None, told: str) -> None:
    assert "Before you go" not in text_of(compose_letter(facts))
    text = text_of(compose_letter(dataclasses.replace(facts, away=absence(helper))))
    assert "Before you go" in text
    assert told in text
    assert "leave no hose in a butt" in text
    gone = dataclasses.replace(facts, away=absence(helper), now=facts.now + timedelta(days=10))
    assert "Before you go" not in text_of(compose_letter(gone))


def test_the_sheet_is_for_watering_only(facts: LetterFacts, plan: Callable[..., Json]) -> None:
    document = Plan.model_validate(plan())
    assert document.feed
    assert document.watered
    text = text_of(compose_sheet(facts))
    for line in document.watered:
        assert line.bed.replace("-", " ").capitalize() in text
    for left_out in ("spoon", "Feed:", "1:", "mL"):
        assert left_out not in text
    assert "not for drinking" in text
    assert "A can is" in text
    assert "of rain has fallen this week, leave out the beds outdoors" in text
    (first, *_), (*_, last) = (line.days for line in (document.watered[0], document.watered[-1]))
    assert f"{first:%A}" in text
    assert f"{last:%A}" in text


@pytest.mark.parametrize(
    # Of a can of 9 L, told where half cans come within 15 %; a third of a can does not.
    ("daily_l", "told"),
    [(14, "14 L, about 1½ cans."), (9, "9 L, about 1 can."), (3, "3 L.")],
)
def test_the_sheet_counts_cans(
    garden: Garden,
    plan: Callable[..., Json],
    water: Callable[..., Json],
    daily_l: float,
    told: str,
) -> None:
    line = water(daily_l=daily_l, cans=0, litres=7 * daily_l, days=[])
    assert told in sheet_text(garden, Plan.model_validate(plan(water=[line])))


def test_the_sheet_prints_by_itself(garden: Garden, plan: Callable[..., Json]) -> None:
    document = Plan.model_validate(plan())
    page = sheet_page(garden, document)
    for outside in ("<script", "src=", "href=", "http"):
        assert outside not in page
    dry = Plan.model_validate(plan() | {"water": []})
    assert "Nothing needs water this week." in sheet_text(garden, dry)
    assert "Nothing needs water this week." in sheet_page(garden, dry)
