"""A garden with a stick and a plastic gauge: no sensor, no broker, only the journal."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from email import message_from_bytes, policy
from typing import TYPE_CHECKING

import pytest

from steepwell.app import Daemon
from steepwell.cli import main
from steepwell.clock import ReplayClock
from steepwell.garden.load import load_garden

if TYPE_CHECKING:
    from pathlib import Path

GARDEN = """
[garden]
name = "plum-lane"
latitude = 50.8
longitude = 4.35
timezone = "Europe/Brussels"

[weather_record]
daily = "{record}"

[[roof]]
name = "shed"
area = "6 m2"
into = "north"

[[butt]]
name = "north"
litres = "210 L"

[[vessel]]
name = "comfrey"
volume = "60 L"

[[bed]]
name = "beans"
area = "4 m2"
crops = [{{ crop = "bean", planted = "05-15" }}]

[[bed]]
name = "tomatoes"
area = "3 m2"
crops = [{{ crop = "tomato", planted = "05-20" }}]

[told.mail]
server = "127.0.0.1"
sender = "steepwell@plum-lane.example"

[[told.people]]
name = "pat"
mail = "pat@plum-lane.example"
"""
MONDAY = datetime(2025, 6, 16, 8, 0, tzinfo=UTC)
FRIDAY_EVENING = datetime(2025, 6, 20, 15, 30, tzinfo=UTC)


def test_a_garden_fed_by_hand_gets_a_useful_letter_in_its_first_week(
    tmp_path: Path, brussels_csv: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "garden.toml"
    file.write_text(GARDEN.format(record=brussels_csv), encoding="utf-8")
    at = ["--at", MONDAY.isoformat(), "--garden", str(file)]
    assert main(["note", "level-read", "north", "3 of 5 full", "--json", *at]) == 0
    noted = json.loads(capsys.readouterr().out)
    assert noted["entry"]["litres"] == pytest.approx(3 / 5 * 210)
    assert main(["note", "rain-read", "4 mm", *at]) == 0
    assert main(["note", "steep-started", "comfrey", "comfrey", "--water", "50 L", *at]) == 0

    clock = ReplayClock(MONDAY + timedelta(hours=1))
    daemon = Daemon(load_garden(file), clock, mail_folder=tmp_path / "mail", warm_worker=True)
    daemon.start()
    try:
        while clock.now() < FRIDAY_EVENING:
            daemon.run_due()
            clock.set(clock.now() + timedelta(hours=6))
        clock.set(FRIDAY_EVENING)
        daemon.run_due()
    finally:
        daemon.stop()

    mails = [
        message_from_bytes(path.read_bytes(), policy=policy.default)
        for path in sorted((tmp_path / "mail").glob("*.eml"))
    ]
    letters = [mail for mail in mails if mail.get_content_type() != "text/plain"]
    assert len(letters) == 1
    plain = letters[0].get_body(("plain",))
    assert plain is not None
    # A bed that is left dry begins a line of its own, with a capital letter.
    text = plain.get_content().lower()
    assert "beans" in text
    assert "tomatoes" in text
    assert "comfrey" in text
    assert "can" in text
    assert "note level-read" in text
