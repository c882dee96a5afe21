"""A garden file with a weather record, and commands given for it."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import pytest
from tests.commands.answers import GARDEN, Answer
from tests.gardens import write_record

from steepwell.cli import main
from steepwell.outlook.record import Record

if TYPE_CHECKING:
    from pathlib import Path

    from tests.commands.answers import Command


def eleven_years() -> Record:
    """Return eleven invented years: warm and dry summers, cool and wet winters."""
    first, last = date(2010, 1, 1), date(2020, 12, 31)
    days = np.arange((last - first).days + 1)
    summer = np.cos(2 * np.pi * (days - 200) / 365.25)
    rng = np.random.default_rng(11)
    rain = np.where(rng.random(len(days)) < 0.4 - 0.2 * summer, rng.gamma(0.8, 5.0, len(days)), 0)
    mean = 10.0 + 7.0 * summer + rng.normal(0.0, 2.0, len(days))
    return Record(first, rain, mean - 4.0, mean + 5.0, np.full(len(days), np.nan))


@pytest.fixture(scope="module")
def weather(tmp_path_factory: pytest.TempPathFactory) -> str:
    path = write_record(tmp_path_factory.mktemp("record") / "weather.csv", eleven_years())
    return path.read_text(encoding="utf-8")


@pytest.fixture
def garden(tmp_path: Path, weather: str, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return a garden file in the folder from which commands are given."""
    (tmp_path / "weather.csv").write_text(weather, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    path = tmp_path / "garden.toml"
    path.write_text(GARDEN, encoding="utf-8")
    return path


@pytest.fixture
def steepwell(capsys: pytest.CaptureFixture[str]) -> Command:
    def command(*words: str) -> Answer:
        code = main(words)
        printed = capsys.readouterr()
        assert "Traceback" not in printed.err
        return Answer(code, printed.out, printed.err)

    return command
