"""``steepwell init`` as a person types it, as a script gives it, and what comes of it."""

from __future__ import annotations

import io
import json
import os
import pty
import subprocess
import sys
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import pytest
from tests.commands.answers import Answer

from steepwell.app import Daemon
from steepwell.cli import main
from steepwell.clock import ReplayClock
from steepwell.garden.load import load_garden

if TYPE_CHECKING:
    from pathlib import Path

    from tests.commands.answers import Command

INIT = (sys.executable, "-m", "steepwell.cli", "init")
NORTH_OF_CAMBRIDGE = ("--zone", "Europe/London", "--place", "52.5, 0.1")
WITHIN_S = 30.0


@pytest.fixture
def steepwell(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> Command:
    monkeypatch.chdir(tmp_path)

    def command(*words: str, typed: str = "") -> Answer:
        monkeypatch.setattr(sys, "stdin", io.StringIO(typed))
        code = main(words)
        printed = capsys.readouterr()
        return Answer(code, printed.out, printed.err)

    return command


class Terminal:
    """A person at a terminal: sees what is shown, then types."""

    def __init__(self, *command: str, folder: Path) -> None:
        self._here, there = pty.openpty()
        self.process = subprocess.Popen(
            command, cwd=folder, stdin=there, stdout=subprocess.PIPE, stderr=there
        )
        os.close(there)
        self.seen = ""

    def await_words(self, words: str) -> None:
        """Read until these words are on the screen, and forget what was before."""
        while words not in self.seen:
            self.seen += os.read(self._here, 4096).decode()
        self.seen = self.seen.partition(words)[2]

    def types(self, text: str) -> None:
        os.write(self._here, text.encode())

    def ends(self) -> tuple[int, str]:
        out, _ = self.process.communicate(timeout=WITHIN_S)
        os.close(self._here)
        return self.process.returncode, out.decode()


def test_a_person_is_asked_again_until_the_answer_is_understood(tmp_path: Path) -> None:
    terminal = Terminal(*INIT, "plot.toml", folder=tmp_path)
    for key, typed in (
        ("name", "Plum Lane"),
        ("name", "plum-lane"),
        ("zone", "Europe/Lodnon"),
        ("zone", "Europe/London"),
        ("place", "52.5"),
        ("place", "52.5, 0.1"),
        ("butts", "210 gallon"),
        ("butts", "210, 190 L"),
        ("roof", "6 by 4"),
        ("roof", "6 x 4"),
        ("share", ""),
        ("bed", "twelve"),
        ("bed", "12"),
        ("weather", ""),
        ("broker", ""),
        ("mail", "mail.example.org"),
        ("security", "ssl"),
        ("security", ""),
        ("mail-user", ""),
        ("to", "maud@example.org"),
        ("page", "home"),
        ("forecast", ""),
    ):
        terminal.await_words(f"\n{key} [")
        terminal.await_words("]: ")
        terminal.types(f"{typed}\n")
    code, out = terminal.ends()
    assert code == 0
    assert "steepwell run plot.toml" in out
    assert "210 and 190 L of butts, 50% of 24 m² of roof, 12 m² of bed" in out
    garden = load_garden(tmp_path / "plot.toml")
    assert (garden.name, garden.garden.latitude) == ("plum-lane", 52.5)
    assert [butt.capacity_l for butt in garden.butt] == [210.0, 190.0]
    assert (garden.roof[0].area, garden.roof[0].share) == (24.0, 0.5)
    assert garden.bed[0].area == 12.0
    assert garden.told.people[0].mail == "maud@example.org"
    assert garden.page is not None
    assert garden.page.host == "0.0.0.0"  # noqa: S104 - all of the home network, as asked


def test_a_wrong_answer_is_told_with_what_is_wanted(tmp_path: Path) -> None:
    terminal = Terminal(*INIT, folder=tmp_path)
    terminal.await_words("name [garden]: ")
    terminal.types("Plum Lane\n")
    terminal.await_words("found 'Plum Lane'; wanted: a name of small letters, digits and hyphens")
    terminal.await_words('like "plum-lane"')
    terminal.await_words("name [garden]: ")
    terminal.types("\x04")
    assert terminal.ends()[0] == 2
    assert list(tmp_path.iterdir()) == []


def test_answers_may_come_from_a_pipe(tmp_path: Path) -> None:
    answers = "pear-row\nEurope/Brussels\n50.9, 4.4\n300\n5 x 3\n100\n8\n\n\n\n\n\n"
    made = subprocess.run(
        [*INIT, "--json"], input=answers, cwd=tmp_path, capture_output=True, text=True, check=True
    )
    assert made.stderr == ""
    assert json.loads(made.stdout)["garden"] == "pear-row"
    garden = load_garden(tmp_path / "garden.toml")
    assert garden.garden.timezone == "Europe/Brussels"
    assert garden.weather_record is not None
    assert garden.weather_record.normals is not None
    assert garden.weather_record.normals.rain_mm[0] == 77


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("pear-row\n", "the answers ended before 'zone'"),
        ("pear-row\nNowhere\n", "zone: found 'Nowhere'; wanted: a time zone"),
    ],
)
def test_a_pipe_that_ends_or_errs_writes_nothing(
    typed: str, words: str, steepwell: Command, tmp_path: Path
) -> None:
    answer = steepwell("init", typed=typed)
    assert (answer.code, answer.out) == (2, "")
    assert words in answer.err
    assert list(tmp_path.iterdir()) == []


def test_options_alone_make_a_garden_that_has_an_outlook(
    steepwell: Command, tmp_path: Path
) -> None:
    file = tmp_path / "garden.toml"
    assert steepwell("init", "--yes", *NORTH_OF_CAMBRIDGE).code == 0
    assert "no faults" in steepwell("check").out
    daemon = Daemon(load_garden(file), ReplayClock(datetime(2031, 6, 1, 9, 0, tzinfo=UTC)))
    daemon.start()
    done = {one.job: one for one in daemon.run_due()}
    daemon.stop()
    assert done["outlook"].outlook is not None
    assert done["outlook"].outlook["butts"][0]["capacity_l"] == 200


def test_what_is_there_stays_as_it_is(steepwell: Command, tmp_path: Path) -> None:
    (tmp_path / "garden.toml").write_text("mine", encoding="utf-8")
    answer = steepwell("init", "--yes")
    assert answer.code == 2
    assert "is there already and stays as it is" in answer.err
    assert (tmp_path / "garden.toml").read_text(encoding="utf-8") == "mine"


def test_far_from_every_climate_none_is_taken(steepwell: Command, tmp_path: Path) -> None:
    answer = steepwell("init", "--yes", "--zone", "Asia/Kathmandu")
    assert answer.code == 0
    assert "There is no [weather_record]: there will be no outlook." in answer.out
    assert load_garden(tmp_path / "garden.toml").weather_record is None


def test_a_short_daily_file_is_helped_out(steepwell: Command, tmp_path: Path) -> None:
    row = "2031-06-01,0.0,9.0,19.0\n"
    (tmp_path / "days.csv").write_text(f"date,rain_mm,tmin_c,tmax_c\n{row}", encoding="utf-8")
    assert steepwell("init", "--yes", *NORTH_OF_CAMBRIDGE, "--weather", "days.csv").code == 0
    record = load_garden(tmp_path / "garden.toml").weather_record
    assert record is not None
    assert str(record.daily) == "days.csv"
    assert record.normals is not None


def test_a_forecast_is_written_down_with_its_pointers(steepwell: Command, tmp_path: Path) -> None:
    said = ("--forecast", "plum/days", "--forecast-pointers", "/list /day /mm /min /max")
    assert steepwell("init", "--yes", *said).code == 0
    forecast = load_garden(tmp_path / "garden.toml").forecast
    assert forecast is not None
    assert (forecast.topic, forecast.days, forecast.tmax) == ("plum/days", "/list", "/max")


@pytest.mark.parametrize(
    ("option", "found", "wanted"),
    [
        ("butts", "0", "more than nothing"),
        ("share", "0", "more than 0 %"),
        ("place", "95, 0", "at most 90 and 180"),
        ("weather", "there.csv", "one of brussels, cambridge, none, or a CSV file"),
        ("broker", "host:99999", "a host, perhaps with its port"),
        ("to", "maud", "a mail address"),
        ("page", "yes", "no, here or home"),
        ("forecast-pointers", "/days", "five pointers"),
    ],
)
def test_a_wrong_option_is_told(option: str, found: str, wanted: str, steepwell: Command) -> None:
    more = {"to": ("--mail", "127.0.0.1"), "forecast-pointers": ("--forecast", "plum/days")}
    answer = steepwell("init", "--yes", *more.get(option, ()), f"--{option}", found)
    assert answer.code == 2
    assert f"--{option}: found {found!r}; wanted: " in answer.err
    assert wanted in answer.err
