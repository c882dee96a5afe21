"""Every command that the README shows is given as it stands there."""

from __future__ import annotations

import argparse
import io
import re
import shlex
import shutil
import signal
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from steepwell.cli import _parser, main
from steepwell.garden.load import load_garden
from steepwell.garden.tables import config_dir
from steepwell.store.store import garden_store_url, open_store

if TYPE_CHECKING:
    from collections.abc import Iterator

    import pytest

README = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
OWN_GARDEN = README.partition("## For your own garden")[2].partition("### All commands")[0]
THE_REST = README.partition("### All commands")[2]
# These answer something that a garden of today does not have: a plan that names the bed, a notice.
ANSWERS = ("job-done", "job-not-done", "answered")


def commands(text: str) -> Iterator[list[str]]:
    """Yield the words of each command line in the blocks of a text."""
    for block in re.findall(r"^```\n(.*?)^```$", text, flags=re.MULTILINE | re.DOTALL):
        for line in block.splitlines():
            words = shlex.split(line, comments=True)
            if words[:1] == ["steepwell"]:
                yield words[1:]


def test_the_table_has_every_command() -> None:
    shown = set(re.findall(r"^\| `steepwell (\w+)` \|", README, flags=re.MULTILINE))
    (known,) = (
        action.choices
        for action in _parser()._actions
        if isinstance(action, argparse._SubParsersAction)
    )
    assert shown == set(known)


def test_a_new_garden_comes_as_far_as_the_first_plan(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    given = list(commands(OWN_GARDEN))
    assert [words[0] for words in given[:3]] == ["init", "check", "run"]
    for words in given:
        if words == ["run"]:
            assert start_and_stop(tmp_path) == 0
            continue
        monkeypatch.setattr(sys, "stdin", io.StringIO("\n" * 30))
        assert main(words) == 0, (words, capsys.readouterr().err)
    assert "Traceback" not in capsys.readouterr().err


def start_and_stop(folder: Path) -> int:
    """Run the daemon until it says that it runs, and return how it ended."""
    command = (sys.executable, "-m", "steepwell.cli", "run")
    with subprocess.Popen(command, cwd=folder, stderr=subprocess.PIPE, text=True) as daemon:
        assert daemon.stderr is not None
        assert "looking after garden" in daemon.stderr.readline()
        daemon.send_signal(signal.SIGTERM)
        _, said = daemon.communicate()
        assert said == ""
        return daemon.returncode


def test_each_note_is_taken_in_the_annotated_garden(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    shutil.copy(config_dir() / "garden.toml", tmp_path)
    garden = load_garden(tmp_path / "garden.toml")
    open_store(garden_store_url(garden), garden).close()
    given = [words for words in commands(THE_REST) if words[0] != "init"]
    assert given
    for words in given:
        code = main(words)
        said = capsys.readouterr()
        assert code == (1 if words[1] in ANSWERS else 0), (words, said.err)
        assert said.err.count("\n") == code, said.err


def test_what_stands_in_a_line_can_be_given() -> None:
    lines = re.findall(r"`steepwell ((?:[a-z]+ )+[^`]*)`", README)
    parsed = [words for words in map(shlex.split, lines) if "FILE" not in words]
    assert ["note", "corrected", "12"] in parsed
    for words in parsed:
        if words[-1] != "--help":
            _parser().parse_args(words)


def test_the_wheel_has_what_the_readme_names() -> None:
    named = set(re.findall(r"`config/([\w.-]+)`", README))
    assert named - {path.name for path in config_dir().iterdir()} == set()
