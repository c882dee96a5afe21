from __future__ import annotations

import json
from datetime import date
from typing import TYPE_CHECKING, Any

import pytest

from steepwell.errors import CommandError
from steepwell.garden.tables import config_dir
from steepwell_sim.replay.driver import replay
from steepwell_sim.replay.options import Options
from steepwell_sim.weather.invent import write_invented

if TYPE_CHECKING:
    from pathlib import Path

    from steepwell_sim.broker import RunningBroker

FIRST, LAST = date(2031, 6, 6), date(2031, 6, 7)  # a Friday with its letter, and a Saturday


@pytest.fixture(scope="module")
def two_replays(
    tmp_path_factory: pytest.TempPathFactory,
    broker: RunningBroker,  # noqa: ARG001 - skips where there is none
) -> list[Path]:
    folder = tmp_path_factory.mktemp("replay")
    record, weather = write_invented(folder / "weather", summer=2031, seed=1)
    outs = [folder / "one", folder / "two"]
    for out in outs:
        replay(
            Options(
                garden=config_dir() / "gardens" / "roomy.toml",
                weather=weather,
                first=FIRST,
                last=LAST,
                out=out,
                record=record,
                seed=4,
            ),
            progress=lambda _day, _world: None,
        )
    return outs


def lines(path: Path) -> list[dict[str, Any]]:
    return [json.loads(line) for line in path.read_text().splitlines()]


def test_equal_seeds_give_equal_files(two_replays: list[Path]) -> None:
    one, two = (
        {path.relative_to(out): path.read_bytes() for path in out.rglob("*") if path.is_file()}
        for out in two_replays
    )
    assert one == two
    assert len(one) > 6


def test_connections_are_not_lost_in_a_replay(tmp_path: Path) -> None:
    record, weather = write_invented(tmp_path, summer=2031, seed=1)
    script = tmp_path / "faults.toml"
    script.write_text("[[fault]]\nkind = 'reconnect'\nsensor = 'gauge'\n", encoding="utf-8")
    options = Options(
        garden=config_dir() / "gardens" / "roomy.toml",
        weather=weather,
        first=FIRST,
        last=LAST,
        out=tmp_path / "out",
        record=record,
        faults=script,
    )
    with pytest.raises(CommandError, match="no device loses its connection"):
        replay(options, progress=lambda _day, _world: None)


def test_the_daemon_looks_ahead_every_day(two_replays: list[Path]) -> None:
    outlooks = lines(two_replays[0] / "outlooks.jsonl")
    assert {outlook["issued"][:10] for outlook in outlooks} == {"2031-06-06", "2031-06-07"}
    assert len(lines(two_replays[0] / "plans.jsonl")) == len(outlooks)


def test_the_daemon_knows_what_its_sensors_told(two_replays: list[Path]) -> None:
    truth = {line["date"]: line for line in lines(two_replays[0] / "truth.jsonl")}
    assert list(truth) == ["2031-06-06", "2031-06-07"]
    last = lines(two_replays[0] / "outlooks.jsonl")[-1]
    before = truth["2031-06-06"]
    for butt in last["butts"]:
        # Area ±2 %, a probe with a grain of 1 mm, and a night without watering.
        assert butt["now_l"] == pytest.approx(before["butts"][butt["name"]], rel=0.03, abs=5)
    for vessel in last["vessels"]:
        # The vessels were filled on the first evening; by the next morning they are half a day old.
        assert 0 < vessel["thermal_age_d"] < 2


def test_the_summary_adds_up(two_replays: list[Path]) -> None:
    summary = json.loads((two_replays[0] / "summary.json").read_text())
    truth = lines(two_replays[0] / "truth.jsonl")
    assert summary["given_l"] == pytest.approx(sum(line["given_l"] for line in truth), abs=0.1)
    assert summary["given_l"] > 100  # two vessels of 54 L and more, and Saturday's watering
    assert (summary["from"], summary["to"]) == ("2031-06-06", "2031-06-07")
