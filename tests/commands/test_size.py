"""``steepwell size`` as a person gives it."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest
from tests.commands.answers import GARDEN

from steepwell.screens_years import size_screen

if TYPE_CHECKING:
    from pathlib import Path

    from tests.commands.answers import Command

PNG = b"\x89PNG\r\n\x1a\n"
WEATHER = '[weather_record]\ndaily = "weather.csv"\n'
SECOND_BED = '\n[[bed]]\nname = "leeks"\narea = "2 m2"\n'


def test_size_prints_a_line_a_size(garden: Path, steepwell: Command) -> None:
    garden.write_text(GARDEN + SECOND_BED, encoding="utf-8")
    answer = steepwell("size", str(garden))
    assert (answer.code, answer.err) == (0, "")
    lines = answer.out.splitlines()
    assert lines[0] == "plum-lane: 11 summers, 2010 to 2020, 1 March to 31 October"
    says = ("as it is", "one more butt", "half as much roof", "mulch on every bed", "without all")
    for line, words in zip(lines[2:7], says, strict=True):
        assert words in line
        assert "of 11" in line
    assert max(len(line) for line in lines) <= 100


def test_size_in_json_goes_summer_by_summer(garden: Path, steepwell: Command) -> None:
    sizes = steepwell("size", str(garden), "--json").json
    assert sizes["summers"] == 11
    assert sizes["season"] == ["03-01", "10-31"]
    for variant in sizes["variants"]:
        assert [each["year"] for each in variant["by_summer"]] == list(range(2010, 2021))
        dry = [each for each in variant["by_summer"] if each["first_dry"] is not None]
        assert len(dry) == variant["dry"]
    assert any("only one bed" in remark for remark in sizes["remarks"])


def test_size_draws_a_picture(garden: Path, steepwell: Command) -> None:
    picture = garden.with_name("sizes.png")
    answers = [steepwell("size", "--picture", str(picture)) for _ in range(2)]
    assert [answer.code for answer in answers] == [0, 0]
    first = picture.read_bytes()
    assert first.startswith(PNG)
    # Width and height stand in the first chunk.
    assert [int.from_bytes(first[at : at + 4], "big") for at in (16, 20)] == [1280, 720]
    steepwell("size", "--picture", str(picture))
    assert picture.read_bytes() == first


def test_a_picture_that_cannot_be_written_is_told(garden: Path, steepwell: Command) -> None:
    answer = steepwell("size", "--picture", str(garden.with_name("no") / "sizes.png"))
    assert (answer.code, answer.out) == (2, "")
    assert "cannot be written" in answer.err


def test_without_a_weather_record_nothing_is_told_of_past_summers(
    garden: Path, steepwell: Command
) -> None:
    garden.write_text(GARDEN.replace(WEATHER, ""), encoding="utf-8")
    answer = steepwell("size")
    assert (answer.code, answer.out) == (1, "")
    assert "nothing can be told of past summers without a weather record" in answer.err


def test_a_garden_without_a_bed_is_told_what_is_missing(garden: Path, steepwell: Command) -> None:
    garden.write_text(GARDEN.replace('[[bed]]\nname = "all"\narea = "10 m2"\n', ""))
    answer = steepwell("size")
    assert (answer.code, answer.out) == (1, "")
    assert "no bed" in answer.err


@pytest.mark.parametrize(
    ("dry", "said"),
    [((24, 9), "run dry in 9 of 30 summers instead of 24."), ((24, 24), None)],
)
def test_one_more_butt_is_told_where_it_helps(
    garden: Path, steepwell: Command, dry: tuple[int, int], said: str | None
) -> None:
    sizes = json.loads(steepwell("size", str(garden), "--json").out)
    sizes["summers"] = 30
    for variant, count in zip(sizes["variants"], dry, strict=False):
        variant["dry"] = count
    screen = size_screen(sizes)
    assert ("instead of" in screen) == (said is not None)
    assert said is None or said in screen
