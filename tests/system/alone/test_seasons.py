"""Two real summers through the real daemon: the drought of 1976, and wet 1981."""

from __future__ import annotations

import json
import subprocess
import sys
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from email import message_from_bytes, policy
from pathlib import Path
from typing import Any

import pytest

from steepwell.garden.tables import config_dir

pytestmark = pytest.mark.mosquitto

# Common practice, no source: a gardener who hears of it ten days before can still mulch and ration.
WARNED_BEFORE = timedelta(days=10)
# The butts are full until the last week of April and the vessels are filled on 1 May, so nothing
# is lost by beginning late. By the middle of July the drought of 1976 has been announced and has
# come; after the middle of August 1981 no outlook comes near the bottom of a butt any more.
# `./tests/hindcast/run pushes` lives through the whole of both years.
SPANS = {
    1976: (date(1976, 4, 22), date(1976, 7, 18)),
    1981: (date(1981, 4, 22), date(1981, 8, 15)),
}
FRIDAY = 4  # the day of the letter, which tells of that morning's outlook
CALLED_WITHIN_D = 3.0


@dataclass(frozen=True)
class Season:
    folder: Path

    def lines(self, name: str) -> list[dict[str, Any]]:
        text = (self.folder / f"{name}.jsonl").read_text(encoding="utf-8")
        return [json.loads(line) for line in text.splitlines()]

    def whole(self, name: str) -> dict[str, Any]:
        found: dict[str, Any] = json.loads((self.folder / f"{name}.json").read_text("utf-8"))
        return found

    def standing(self, kind: str, day: date) -> bool:
        """Return whether a notice of a kind stood at the end of a day."""
        stands = False
        for event in self.lines("notices"):
            if event["kind"] == kind and datetime.fromisoformat(event["at"]).date() <= day:
                stands = event["event"] != "cleared"
        return stands


@pytest.fixture(scope="module")
def seasons(brussels_csv: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[int, Season]:
    folder = tmp_path_factory.mktemp("seasons")
    running = {year: _start(brussels_csv, year, folder / str(year)) for year in SPANS}
    told = {year: process.communicate(timeout=900) for year, process in running.items()}
    for year, process in running.items():
        assert process.returncode == 0, told[year]
    return {year: Season(folder / str(year)) for year in running}


def _start(record: Path, year: int, out: Path) -> subprocess.Popen[str]:
    first, last = SPANS[year]
    span = ["--from", first.isoformat(), "--to", last.isoformat()]
    garden = config_dir() / "gardens" / "roomy.toml"
    program = Path(sys.executable).with_name("steepwell-sim")
    places = [program, "replay", garden, "--weather", record, "--out", out]
    command = [*map(str, places), "--seed", "1", "--gardener", "weekly", *span]
    return subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


def test_a_replay_writes_everything(seasons: dict[int, Season]) -> None:
    season = seasons[1976]
    first, last = SPANS[1976]
    days = (last - first).days + 1
    assert len(season.lines("truth")) == days
    every_day = {(first + timedelta(days=day)).isoformat() for day in range(days)}
    assert {outlook["days"][0] for outlook in season.lines("outlooks")} == every_day
    assert {plan["week"][0] for plan in season.lines("plans")} == every_day
    assert season.whole("world")["factors"]
    assert season.whole("summary")["notices"]
    assert len(list((season.folder / "mail").glob("*.eml"))) >= days // 7


def test_the_drought_is_announced_ten_days_before_the_first_dry_day(
    seasons: dict[int, Season],
) -> None:
    season = seasons[1976]
    first_dry = date.fromisoformat(season.whole("summary")["first_dry_day"])
    for before in range(WARNED_BEFORE.days + 1):
        assert season.standing("shortfall-ahead", first_dry - timedelta(days=before))


def test_in_the_wet_year_no_shortfall_is_announced(seasons: dict[int, Season]) -> None:
    season = seasons[1981]
    assert season.whole("summary")["first_dry_day"] is None
    assert not [e for e in season.lines("notices") if e["kind"] == "shortfall-ahead"]


@pytest.mark.parametrize("year", [1976, 1981])
def test_a_vessel_is_called_ready_in_time(seasons: dict[int, Season], year: int) -> None:
    called = [
        notice
        for notice in seasons[year].whole("summary")["notices"]
        if notice["id"].startswith("vessel-ready/") and notice["event"] == "raised"
    ]
    assert {notice["id"] for notice in called} == {"vessel-ready/bean", "vessel-ready/comfrey"}
    for notice in called:
        assert abs(notice["error_d"]) <= CALLED_WITHIN_D


@pytest.mark.parametrize("year", [1976, 1981])
def test_the_last_letter_before_announced_a_range_that_holds_the_ready_day(
    seasons: dict[int, Season], year: int
) -> None:
    season = seasons[year]
    for notice in season.whole("summary")["notices"]:
        if not (notice["id"].startswith("vessel-ready/") and notice["event"] == "raised"):
            continue
        truth = datetime.fromisoformat(notice["at"]) - timedelta(days=notice["error_d"])
        ranges = [
            (datetime.fromisoformat(outlook["issued"]), vessel["ready"]["in_d"])
            for outlook in season.lines("outlooks")
            for vessel in outlook["vessels"]
            if vessel["name"] == notice["id"].split("/")[1] and vessel["ready"] is not None
        ]
        issued, in_d = [r for r in ranges if r[0] <= truth and r[0].weekday() == FRIDAY][-1]
        assert issued + timedelta(days=in_d["p10"]) <= truth <= issued + timedelta(days=in_d["p90"])


def test_the_letter_of_the_drought_says_how_long_the_water_lasts(
    seasons: dict[int, Season],
) -> None:
    letters = sorted((seasons[1976].folder / "mail").glob("1976-06-*-1700-*.eml"))
    mail = message_from_bytes(letters[-1].read_bytes(), policy=policy.default)
    text = mail.get_body(("plain",))
    assert text is not None
    assert " L" in text.get_content()
    assert "neither drink nor spray" in text.get_content().lower()
