"""What is noted of vessels and feed, tried on the example garden: answers, and what is refused."""

from __future__ import annotations

import shutil
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from steepwell.clock import WallClock

if TYPE_CHECKING:
    from tests.commands.answers import Command

EXAMPLE = Path(__file__).parents[2] / "config" / "garden.toml"


def ago(days: float) -> str:
    return (WallClock().now() - timedelta(days=days)).isoformat(timespec="seconds")


@pytest.fixture
def example(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return the example garden with no weather record and nothing noted."""
    monkeypatch.chdir(tmp_path)
    return Path(shutil.copy(EXAMPLE, tmp_path / "garden.toml"))


@pytest.fixture
def lived_in(example: Path, steepwell: Command) -> Path:
    """Return it with leeks steeping for sixty days, seen to be ready, and fresh nettles."""
    leek = ("leek", "leek", "--water", "30 L", "--buckets", "2")
    assert steepwell("note", "steep-started", *leek, "--at", ago(60)).code == 0
    assert steepwell("note", "ready-confirmed", "leek", "--at", ago(30)).code == 0
    assert steepwell("note", "steep-started", "nettle", "nettle", "--at", ago(3)).code == 0
    return example


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("steep-started", "leek", ""), "the name of a plant, such as leek or nettle, is empty"),
        (("steep-started", "leek", "leek"), "holds a steep started on"),
        (("steep-started", "nettle", "nettle", "--water", "70 L"), "holds a steep started on"),
        (
            ("topped-up", "leek", "2 L", "--matter", ""),
            "the name of a plant, such as leek or nettle, is empty",
        ),
        (("topped-up", "leek", "2 L", "--matter", "ragwort"), "it is poisonous"),
        (("topped-up", "leek", "2 L", "--matter", "leek", "--sick"), "sick 'leek' stays out"),
        (("topped-up", "leek", "20 L"), "has room for (6 L below its headspace"),
        (("drawn-off", "leek", "40 L"), "more than stands above the solids in 'leek'"),
        (("decanted", "leek", "40 L", "shelf"), "more than stands above the solids in 'leek'"),
        (("fed", "long-bed", "leek", "30 L"), "say what went into one can"),
        (("fed", "long-bed", "leak", "30 mL"), "no vessel 'leak' in the garden file"),
        (("fed", "long-bed", "nettle", "30 mL"), "is not ready: it was started on"),
        (("drawn-off", "leek", "2 L", "--at", ago(-2)), "is in the future"),
        (("drawn-off", "leek", "2 L", "--at", ago(70)), "note first, with its date"),
        (("topped-up", "leek", "2 L", "--at", ago(70)), "note first, with its date"),
        (("fed", "long-bed", "leek", "30 mL", "--at", ago(70)), "note first, with its date"),
        (("too-strong", "leek", "--at", ago(70)), "note first, with its date"),
        (("conductivity-measured", "leek", "-3 mS/cm"), "should be greater than 0"),
        (("bean-test", "leek", "odd"), "should be 'healthy' or 'twisted'"),
        (("sickness-seen", "clubroot"), "in a bed, or in a vessel"),
    ],
)
def test_what_cannot_be_is_refused_with_what_to_do(
    lived_in: Path, steepwell: Command, words: tuple[str, ...], told: str
) -> None:
    assert lived_in.is_file()
    answer = steepwell("note", *words)
    assert (answer.code, answer.out) == (1, "")
    assert told in answer.err
    assert len(answer.err.splitlines()) == 1


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("drawn-off", "leek", "4 L"), "Leek vessel: 24 L left, use 1:150, ready since"),
        (("decanted", "leek", "4 L", "shelf"), "kept in shelf"),
        (("topped-up", "leek", "3 L"), "Leek vessel: 30 L left, use 1:150"),
        (("fed", "long-bed", "leek", "30 mL"), "its next feed is counted from there"),
        (("ready-confirmed", "nettle"), "Nettle vessel: "),
        # At sixty days the curve of practice asks for 1:125, so 1:150; the next rung is 1:200.
        (("too-strong", "leek"), "use 1:200"),
        (("conductivity-measured", "leek", "0.5 mS/cm"), "use 1:150"),
        (("sickness-seen", "clubroot", "--vessel", "leek"), "locked: clubroot"),
        (("bean-test", "leek", "twisted"), "grew twisted with it; only grass may have it"),
        (("fed", "long-bed", "leek", "1 L"), "That was 1:8, and 1:150 was due: rinse it in"),
        (("fed", "long-bed", "leek", "9 L"), "That was undiluted, and 1:150 was due"),
        (("vessel-emptied", "leek"), "the leek vessel is empty"),
        (("looks-hungry", "poles"), "comes first"),
        (("picking", "poles"), "no feed there for a fortnight"),
        (("cleared", "poles"), "Healthy, roots clean?"),
        (("planted", "poles", "leek"), "poles holds leek since"),
    ],
)
def test_a_note_answers_with_what_it_changed(
    lived_in: Path, steepwell: Command, words: tuple[str, ...], told: str
) -> None:
    assert lived_in.is_file()
    answer = steepwell("note", *words)
    assert (answer.code, answer.err) == (0, "")
    assert told in answer.out


def test_what_was_drawn_is_gone_and_what_was_topped_up_is_there(
    example: Path, steepwell: Command
) -> None:
    assert example.is_file()
    # Filled to its headspace: 36 of 40 L.
    steepwell("note", "steep-started", "leek", "leek", "--kg", "4", "--at", ago(60))
    full = steepwell("note", "topped-up", "leek", "5 L")
    assert "has room for (0 L below" in full.err
    assert steepwell("note", "drawn-off", "leek", "20 L", "--at", ago(20)).code == 0
    again = steepwell("note", "drawn-off", "leek", "20 L")
    assert again.code == 1
    assert "of 16 L" in again.err
    assert steepwell("note", "topped-up", "leek", "15 L", "--at", ago(10)).code == 0
    assert steepwell("note", "drawn-off", "leek", "20 L").code == 0


def test_a_vessel_that_was_filled_twice_is_one_too_many(example: Path, steepwell: Command) -> None:
    assert example.is_file()
    steepwell("note", "steep-started", "leek", "leek", "--at", ago(5))
    refused = steepwell("note", "steep-started", "leek", "leek", "--at", ago(9))
    assert refused.code == 1
    assert "was filled again on" in refused.err


def test_who_saw_it_ready_may_feed_early(example: Path, steepwell: Command) -> None:
    assert example.is_file()
    steepwell("note", "steep-started", "leek", "leek", "--at", ago(8))
    assert steepwell("note", "fed", "long-bed", "leek", "30 mL").code == 1
    assert steepwell("note", "ready-confirmed", "leek").code == 0
    assert steepwell("note", "fed", "long-bed", "leek", "30 mL").code == 0


def test_a_garden_is_put_to_bed_once_and_woken_once(example: Path, steepwell: Command) -> None:
    assert example.is_file()
    assert [steepwell("note", kind).code for kind in ("woken", "put-to-bed", "put-to-bed")] == [
        1,
        0,
        1,
    ]
    assert [steepwell("note", "woken").code for _ in range(2)] == [0, 1]


def test_a_locked_vessel_feeds_no_bed(lived_in: Path, steepwell: Command) -> None:
    assert lived_in.is_file()
    steepwell("note", "sickness-seen", "clubroot", "--vessel", "leek")
    refused = steepwell("note", "fed", "long-bed", "leek", "30 mL")
    assert refused.code == 1
    assert "is locked: clubroot" in refused.err


def test_beans_that_twist_free_no_vessel_that_is_locked_for_clubroot(
    lived_in: Path, steepwell: Command
) -> None:
    assert lived_in.is_file()
    steepwell("note", "sickness-seen", "clubroot", "--vessel", "leek")
    answer = steepwell("note", "bean-test", "leek", "twisted")
    assert "locked: clubroot" in answer.out
    assert "grass" not in answer.out


def test_what_made_room_is_withdrawn_and_what_took_it_is_told(
    lived_in: Path, steepwell: Command
) -> None:
    assert lived_in.is_file()
    assert steepwell("note", "drawn-off", "leek", "20 L", "--at", ago(9)).code == 0
    assert steepwell("note", "topped-up", "leek", "20 L", "--at", ago(8)).code == 0
    answer = steepwell("note", "corrected", "4")
    assert answer.code == 0
    assert "(entry 5) cannot be: 20 L is more than 'leek' has room for (6 L" in answer.out
    assert "if it is wrong, withdraw it too" in answer.out


def test_without_weather_nobody_says_that_it_is_cold(lived_in: Path, steepwell: Command) -> None:
    assert lived_in.is_file()
    answer = steepwell("note", "drawn-off", "nettle", "1 L")
    assert "is not known without a weather record" in answer.out


@pytest.mark.parametrize(
    ("wrong", "after"),
    [
        (("drawn-off", "leek", "10 L"), "Leek vessel: 28 L left, use 1:150"),
        (("too-strong", "leek"), "use 1:150"),
        (("sickness-seen", "clubroot", "--vessel", "leek"), "use 1:150"),
        (("vessel-emptied", "leek"), "Leek vessel: 28 L left"),
    ],
)
def test_what_is_withdrawn_is_as_if_it_had_not_been(
    lived_in: Path, steepwell: Command, wrong: tuple[str, ...], after: str
) -> None:
    assert lived_in.is_file()
    assert "(entry 4)" in steepwell("note", *wrong).out
    answer = steepwell("note", "corrected", "4")
    assert (answer.code, answer.err) == (0, "")
    assert "entry 4 is withdrawn" in answer.out
    assert after in answer.out
