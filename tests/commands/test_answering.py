"""What is said to a notice by command, and why somebody was told or not."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import pytest

from steepwell.clock import WallClock
from steepwell.garden.load import load_garden
from steepwell.store.notices import NoticeEvent
from steepwell.store.store import garden_store_url, open_store
from steepwell.tell.push import record_events

if TYPE_CHECKING:
    from pathlib import Path

    from tests.commands.answers import Command

TOLD = """
[told.mail]
server = "127.0.0.1"
sender = "garden@example.org"

[[told.people]]
name = "pat"
mail = "pat@example.org"
"""
SILENT = "sensor-doubtful/gauge"


@pytest.fixture
def garden_told(garden: Path) -> Path:
    """Return the garden file of a garden in which a notice stands."""
    garden.write_text(garden.read_text(encoding="utf-8") + TOLD, encoding="utf-8")
    loaded, now = load_garden(garden), WallClock().now() - timedelta(hours=1)
    event = NoticeEvent(
        id=SILENT,
        kind="sensor-doubtful",
        subject="gauge",
        event="raised",
        at=now,
        urgency="Expected",
        severity="Minor",
        certainty="Likely",
        headline="Sensor gauge is doubtful",
        text="Look at it.",
        figures={},
        reason="found for the first time",
    )
    with open_store(garden_store_url(loaded), loaded) as store, store.transaction():
        record_events(loaded, store, [event], now, mails=True)
    return garden


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("seen",), "is seen"),
        (("no-more",), "no more of sensor-doubtful/gauge until it changes"),
        (("later", "--until", "2131-07-01"), "put off to 1 July"),
    ],
)
@pytest.mark.usefixtures("garden_told")
def test_a_notice_is_answered(steepwell: Command, words: tuple[str, ...], said: str) -> None:
    answer = steepwell("note", "answered", SILENT, *words)
    assert answer.code == 0
    assert said in answer.out


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (("leak/north", "seen"), "no notice 'leak/north' stands; there are sensor-doubtful/gauge"),
        ((SILENT, "later"), '"later" needs the day'),
        ((SILENT, "later", "--until", "2020-01-01"), "2020-01-01 is not later"),
        ((SILENT, "seen", "--until", "2131-01-01"), "leave the day out"),
        ((SILENT, "never"), "answer should be"),
        (("Gauge", "seen"), "notice should"),
    ],
)
@pytest.mark.usefixtures("garden_told")
def test_an_answer_that_cannot_be_is_refused(
    steepwell: Command, words: tuple[str, ...], why: str
) -> None:
    answer = steepwell("note", "answered", *words)
    assert answer.code == 1
    assert why in answer.err


@pytest.mark.usefixtures("garden_told")
def test_status_says_why_only_when_asked(steepwell: Command) -> None:
    assert "is for the letter" not in steepwell("status").out
    said = steepwell("status", "--why").out
    assert "sensor-doubtful/gauge raised (found for the first time), for pat: is for the" in said
    (decision,) = steepwell("status", "--why", "--json").json["decisions"]
    assert (decision["person"], decision["reason"]) == ("pat", "letter-only")
