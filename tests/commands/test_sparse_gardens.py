"""Gardens that lack something: every command works, and says what it cannot tell."""

from __future__ import annotations

from datetime import timedelta
from email import message_from_string, policy
from typing import TYPE_CHECKING

import pytest

from steepwell.clock import WallClock
from steepwell.garden.load import load_garden
from steepwell.store.store import garden_store_url, open_store
from steepwell.tell import documents
from steepwell.worker import letter_task, outlook_task

if TYPE_CHECKING:
    from pathlib import Path

    from tests.commands.answers import Command

HEAD = """
[garden]
name = "plum-lane"
latitude = 51.5
longitude = -0.9
timezone = "Europe/London"

[weather_record]
daily = "weather.csv"

[told.mail]
server = "127.0.0.1"
sender = "steepwell@plum-lane.example"

[[told.people]]
name = "pat"
mail = "pat@plum-lane.example"
"""
BUTT = '[[butt]]\nname = "north"\nlitres = "200 L"\n'
ROOF = '[[roof]]\nname = "shed"\narea = "10 m2"\ninto = "north"\n'
BED = '[[bed]]\nname = "all"\narea = "10 m2"\n'
TINY = '[[bed]]\nname = "all"\narea = "0.1 m2"\n'
VESSEL = '[[vessel]]\nname = "nettle"\nvolume = "60 L"\n'
GARDENS = {
    "without roofs": BUTT + BED,
    "without beds": BUTT + ROOF + VESSEL,
    "with butts alone": BUTT + ROOF,
    "without butts": VESSEL + BED,
    "with vessels alone": VESSEL,
    "with a bed of 0.1 m2": BUTT + ROOF + TINY,
    "with a butt smaller than a can": '[[butt]]\nname = "north"\nlitres = "5 L"\n' + ROOF + BED,
}


@pytest.fixture(params=list(GARDENS))
def sparse(request: pytest.FixtureRequest, garden: Path) -> Path:
    garden.write_text(HEAD + GARDENS[request.param], encoding="utf-8")
    return garden


def test_every_command_answers(sparse: Path, steepwell: Command) -> None:
    for command in ("check", "outlook", "plan", "status"):
        for words in ((command, str(sparse)), (command, str(sparse), "--json")):
            answer = steepwell(*words)
            assert (answer.code, answer.err) == (0, "")
            assert answer.out.strip()


def test_a_garden_without_butts_is_not_told_that_it_is_dry(
    garden: Path, steepwell: Command
) -> None:
    garden.write_text(HEAD + GARDENS["without butts"], encoding="utf-8")
    for command in ("outlook", "plan"):
        answer = steepwell(command)
        assert "here is no butt in the garden file" in answer.out
        assert "100%" not in answer.out
        assert "0 L" not in answer.out


def test_a_plan_without_jobs_says_so(garden: Path, steepwell: Command) -> None:
    garden.write_text(HEAD + GARDENS["with butts alone"], encoding="utf-8")
    assert "nothing needs watering or feeding" in steepwell("plan").out


def test_outlook_plan_and_letter_are_whole(sparse: Path) -> None:
    garden = load_garden(sparse)
    now = WallClock().now()
    with open_store(garden_store_url(garden), garden) as store:
        worked_out = outlook_task(garden, store, now, 1)
        documents.Outlook.model_validate(worked_out["outlook"])
        documents.Plan.model_validate(worked_out["plan"])
        store.results.save("outlook", now, worked_out["outlook"])
        store.results.save("plan", now, worked_out["plan"])
        (letter,) = letter_task(garden, store, now + timedelta(minutes=1), 1)["letters"]
    mail = message_from_string(letter["mail"], policy=policy.default)
    assert mail["Subject"]
    plain = mail.get_body(("plain",))
    assert plain is not None
    said = plain.get_content()
    assert "nan" not in said.lower().split()
    assert ("There is no butt in the garden file" in " ".join(said.split())) == (not garden.butt)


def test_what_cannot_be_told_is_said(garden: Path, steepwell: Command) -> None:
    garden.write_text(HEAD + GARDENS["without beds"], encoding="utf-8")
    assert "no bed" in steepwell("check", str(garden)).out
    garden.write_text(HEAD + GARDENS["without roofs"], encoding="utf-8")
    assert "no roof" in steepwell("check", str(garden)).out
    garden.write_text(HEAD + GARDENS["with vessels alone"], encoding="utf-8")
    assert "no butt" in steepwell("check", str(garden)).out
