"""Feeds for the year ahead, and labels to print, by a command."""

from __future__ import annotations

from datetime import timedelta
from html.parser import HTMLParser
from typing import TYPE_CHECKING

import pytest

from steepwell.clock import WallClock

if TYPE_CHECKING:
    from pathlib import Path

    from tests.commands.answers import Command


def ago(days: float) -> str:
    return (WallClock().now() - timedelta(days=days)).isoformat(timespec="seconds")


@pytest.fixture
def with_leeks(garden: Path) -> Path:
    """Let leeks be planted every first of June and come out in March, in a bed of their own."""
    bed = '\n[[bed]]\nname = "leeks"\narea = "3 m2"\n'
    crops = 'crops = [{ crop = "leek", planted = "06-01", cleared = "03-10" }]\n'
    garden.write_text(garden.read_text(encoding="utf-8") + bed + crops, encoding="utf-8")
    return garden


def test_the_season_says_what_to_fill_when(with_leeks: Path, steepwell: Command) -> None:
    answer = steepwell("plan", str(with_leeks), "--season")
    assert (answer.code, answer.err) == (0, "")
    assert "leek: fill the leek vessel by" in answer.out
    (start,) = steepwell("plan", str(with_leeks), "--season", "--json").json["starts"]
    assert (start["feed"], start["vessel"], start["rainwater_l"]) == ("leek", "leek", 36)
    assert start["by"] <= start["last_day"] <= start["wanted_from"] or start["by"] >= ago(0)[:10]


def test_what_steeps_is_in_hand_and_not_begun_again(with_leeks: Path, steepwell: Command) -> None:
    started = ("--water", "36 L", "--at", ago(200))
    assert steepwell("note", "steep-started", "leek", "leek", *started).code == 0
    season = steepwell("plan", str(with_leeks), "--season", "--json").json
    assert season["starts"] == []
    (kept,) = season["reserve"]
    assert (kept["vessel"], kept["families"]) == ("leek", ["onion family"])
    (rung,) = season["by_rung"]
    assert (rung["dilution_parts"], rung["cans"]) == (kept["dilution_parts"], kept["cans"])
    (year,) = season["year"]
    assert year["steps"][0]["dilution_parts"] == kept["dilution_parts"]
    picture = with_leeks.parent / "reserve.png"
    answer = steepwell("plan", str(with_leeks), "--reserve", str(picture))
    assert "In hand: " in answer.out
    assert "in the leek vessel, left alone: 1:" in answer.out
    assert picture.read_bytes().startswith(b"\x89PNG")


def test_what_is_in_hand_is_told_without_a_weather_record(
    with_leeks: Path, steepwell: Command
) -> None:
    started = ("--water", "36 L", "--at", ago(40))
    assert steepwell("note", "steep-started", "leek", "leek", *started).code == 0
    assert steepwell("note", "ready-confirmed", "leek", "--at", ago(20)).code == 0
    text = with_leeks.read_text(encoding="utf-8")
    gone = text.replace('daily = "', 'daily = "not-')
    assert gone != text
    with_leeks.write_text(gone, encoding="utf-8")
    answer = steepwell("plan", str(with_leeks), "--season")
    assert (answer.code, answer.err) == (0, "")
    assert "In hand: " in answer.out
    assert "no weather record there" in answer.out
    assert "the last days to begin are not known, and feeds age by the calendar" in answer.out


class _Words(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.words: list[str] = []
        self.fetched: list[str] = []

    def handle_data(self, data: str) -> None:
        self.words.append(" ".join(data.split()))

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.fetched += [f"{tag} {key}" for key, _ in attrs if key in {"src", "href"}]


def test_labels_are_written_for_vessels_that_hold_something(
    garden: Path, steepwell: Command, tmp_path: Path
) -> None:
    steepwell("note", "steep-started", "nettle", "nettle", "comfrey", "--at", ago(400))
    steepwell("note", "sickness-seen", "clubroot", "--vessel", "nettle")
    path = tmp_path / "labels.html"
    assert steepwell("plan", str(garden), "--labels", str(path)).code == 0
    page = _Words()
    page.feed(path.read_text(encoding="utf-8"))
    said = " ".join(page.words)
    assert "Nettle vessel" in said
    assert "Nettle and comfrey" in said
    # A year old, the practice ends: 1:400 to 1:500.
    assert "1:500" in said or "1:400" in said
    assert "Locked: clubroot" in said
    assert "Not for drinking" in said
    assert "Leek vessel" not in said
    assert page.fetched == []


def test_what_was_decanted_has_a_label_of_its_own(
    garden: Path, steepwell: Command, tmp_path: Path
) -> None:
    steepwell("note", "steep-started", "nettle", "nettle", "--at", ago(100))
    assert steepwell("note", "decanted", "nettle", "5 L", "shelf-can").code == 0
    path = tmp_path / "labels.html"
    assert steepwell("plan", str(garden), "--labels", str(path)).code == 0
    page = _Words()
    page.feed(path.read_text(encoding="utf-8"))
    vessel, store = " ".join(page.words).split("Shelf can")
    assert "Nettle vessel" in vessel
    assert "do not lean in" in vessel
    assert "decanted from the nettle vessel" in store
    assert "no drinks bottle" in store
    for label in (vessel, store):
        assert "Never to a drain, ditch, pond or stream" in label
    # A vessel that was watered is thinner than what was taken off before; the label errs to thin.
    assert steepwell("note", "topped-up", "nettle", "5 L").code == 0
    assert steepwell("plan", str(garden), "--labels", str(path)).code == 0
    assert "1:500" in path.read_text(encoding="utf-8").split("Shelf can")[1]


def test_labels_that_cannot_be_written_are_told(garden: Path, steepwell: Command) -> None:
    answer = steepwell("plan", str(garden), "--labels", str(garden / "labels.html"))
    assert answer.code == 2
    assert "cannot be written" in answer.err


def test_decanted_feed_keeps_its_label_until_it_is_used_up(
    garden: Path, steepwell: Command, tmp_path: Path
) -> None:
    def label() -> str:
        path = tmp_path / "labels.html"
        assert steepwell("plan", str(garden), "--labels", str(path)).code == 0
        page = _Words()
        page.feed(path.read_text(encoding="utf-8"))
        return " ".join(page.words).partition("Shelf can")[2]

    steepwell("note", "steep-started", "nettle", "nettle", "--at", ago(100))
    assert steepwell("note", "decanted", "nettle", "5 L", "shelf-can", "--at", ago(9)).code == 0
    assert steepwell("note", "vessel-emptied", "nettle", "--at", ago(8)).code == 0
    # Nobody knows how it goes on: as thin as practice has it. Another steep does not matter here.
    steepwell("note", "steep-started", "nettle", "grass-clippings", "--at", ago(7))
    assert "Nettle" in label()
    assert "1:500" in label()
    assert "weedkiller" not in label()
    emptied = steepwell("note", "vessel-emptied", "shelf-can", "--at", ago(1))
    assert (emptied.code, "the shelf can is empty" in emptied.out) == (0, True)
    assert label() == ""
    again = steepwell("note", "vessel-emptied", "shelf-can")
    assert (again.code, "there is no vessel 'shelf-can'" in again.err) == (1, True)
