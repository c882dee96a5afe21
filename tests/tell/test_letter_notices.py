"""Which of the notices that stand a letter tells, and to whom."""

from __future__ import annotations

import dataclasses
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest

from steepwell.store.notices import NoticeEvent, StandingNotice
from steepwell.tell.letter import LetterFacts, compose_letter

if TYPE_CHECKING:
    from collections.abc import Callable

    from steepwell.garden.garden import Garden
    from steepwell.garden.site import Person

Json = dict[str, Any]


@pytest.fixture
def facts(
    garden: Garden, person: Person, plan: Callable[..., Json], outlook: Json, now: datetime
) -> LetterFacts:
    return LetterFacts(garden=garden, person=person, now=now, plan=plan(), outlook=outlook)


def text_of(facts: LetterFacts, **changes: Any) -> str:  # noqa: ANN401 - fields of many types
    body = compose_letter(dataclasses.replace(facts, **changes)).get_body(("plain",))
    assert body is not None
    return str(body.get_content())


def notice(kind: str, headline: str, when: datetime) -> StandingNotice:
    event = NoticeEvent(
        id=f"{kind}/it",
        kind=kind,
        subject="it",
        event="raised",
        at=when,
        urgency="Expected",
        severity="Minor",
        certainty="Observed",
        headline=headline,
        text="Look at its battery.",
        figures={"thermal_age_d": 9.1},
        reason="found for the first time",
    )
    return StandingNotice(event.id, kind, "it", when, event)


def test_standing_notices_are_told_to_whom_they_concern(facts: LetterFacts) -> None:
    standing = [
        notice("sensor-silent", "Sensor gauge is silent", facts.now),
        notice("worker-failed", "The outlook could not be worked out", facts.now),
        notice("running-dry", "The butts run dry", facts.now),
    ]
    keeper = facts.person.model_copy(update={"role": "keeper"})
    told = {
        who.role: text_of(facts, standing=standing, person=who) for who in (facts.person, keeper)
    }
    assert all("Sensor gauge is silent." in text for text in told.values())
    assert "could not be worked out" in told["keeper"]
    assert "could not be worked out" not in told["gardener"]
    # The first line says it already.
    assert all("The butts run dry" not in text for text in told.values())


def test_warm_water_is_said_in_one_letter_and_a_frosty_night_in_none(facts: LetterFacts) -> None:
    warm = notice("warm-water", "The water in the butts is warm", facts.now - timedelta(days=6))
    frost = notice("frost-tonight", "Frost tonight", facts.now)
    first, next_ = (
        text_of(facts, standing=[warm, frost], now=now)
        for now in (facts.now, facts.now + timedelta(days=7))
    )
    assert "The water in the butts is warm." in first
    assert "The water in the butts is warm." not in next_
    assert "Frost tonight" not in first
