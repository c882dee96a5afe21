"""What the commands say of the mirror."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from steepwell.clock import WallClock
from steepwell.garden.load import load_garden
from steepwell.garden.site import MIRROR_TOKEN
from steepwell.store.store import garden_store_url, open_store

if TYPE_CHECKING:
    from pathlib import Path

    from tests.commands.answers import Command

MIRROR = """
[mirror]
url = "http://127.0.0.1:8086"
organisation = "home"
bucket = "garden"
"""


@pytest.fixture
def mirrored(garden: Path) -> Path:
    garden.write_text(garden.read_text(encoding="utf-8") + MIRROR, encoding="utf-8")
    return garden


@pytest.mark.parametrize(
    ("token_file", "variable", "said"),
    [
        (None, None, f"[mirror] names no token_file and {MIRROR_TOKEN} is not set"),
        (None, "plum", None),
        ("token", None, "token is not there yet: nothing goes to the mirror"),
        ("garden.toml", None, None),
    ],
)
def test_check_looks_for_the_token(
    mirrored: Path,
    steepwell: Command,
    monkeypatch: pytest.MonkeyPatch,
    *,
    token_file: str | None,
    variable: str | None,
    said: str | None,
) -> None:
    monkeypatch.delenv(MIRROR_TOKEN, raising=False)
    if variable is not None:
        monkeypatch.setenv(MIRROR_TOKEN, variable)
    if token_file is not None:
        with mirrored.open("a", encoding="utf-8") as file:
            file.write(f'token_file = "{token_file}"\n')
    answer = steepwell("check", str(mirrored))
    assert answer.code == 0
    lines = [line for line in answer.out.splitlines() if "token" in line and "=" not in line]
    assert len(lines) == (said is not None)
    assert said is None or said in lines[0]


def test_status_tells_how_the_mirror_stands(mirrored: Path, steepwell: Command) -> None:
    declared, now = load_garden(mirrored), WallClock().now()
    with open_store(garden_store_url(declared), declared) as store:
        store.mirror.hand_over(now)
        assert "Mirror: all sent up to " in steepwell("status", str(mirrored)).out
        store.mirror.failed("it cannot be reached", now, lasting=False)
    answer = steepwell("status", str(mirrored))
    assert "Mirror: behind since " in answer.out
    assert ": it cannot be reached.\n" in answer.out


def test_it_is_sent_again_from_a_day_on(mirrored: Path, steepwell: Command) -> None:
    answer = steepwell("mirror", str(mirrored), "--from", "2031-06-01")
    assert (answer.code, answer.err) == (0, "")
    assert answer.out == "Everything since 1 June 2031 goes to the mirror once more, hourly.\n"


def test_a_day_that_is_none_and_a_garden_without_a_mirror_are_refused(
    garden: Path, steepwell: Command
) -> None:
    answer = steepwell("mirror", str(garden), "--from", "June")
    assert (answer.code, answer.out) == (2, "")
    assert "'June' is no date" in answer.err
    answer = steepwell("mirror", str(garden), "--from", "2031-06-01")
    assert (answer.code, answer.out) == (2, "")
    assert "there is no [mirror] in the garden file" in answer.err
