from __future__ import annotations

import signal
import subprocess
import sys
import threading
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from steepwell.garden.tables import config_dir
from steepwell_sim.cli import main
from steepwell_sim.network import Network
from steepwell_sim.weather.invent import write_invented

if TYPE_CHECKING:
    from collections.abc import Callable

    from steepwell_sim.broker import RunningBroker

SMALL = str(config_dir() / "gardens" / "small.toml")


@pytest.fixture
def weather(tmp_path: Path) -> Path:
    _, year = write_invented(tmp_path / "weather", summer=2031, seed=1)
    return year


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"--to": "2031-05-31"}, "--to 2031-05-31 is before --from 2031-06-01; swap them."),
        ({"--every": "7"}, "--every 7 does not fit"),
        ({"--weather": "none.csv"}, "The weather record none.csv cannot be read"),
        ({"--from": "2032-06-01", "--to": "2032-06-02"}, "no complete line for 2032-06-01"),
        ({}, "Give it a record of other years with --record"),
    ],
)
def test_an_error_is_one_sentence_and_exit_code_2(
    weather: Path,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    change: dict[str, str],
    message: str,
) -> None:
    options = {
        "--weather": str(weather),
        "--from": "2031-06-01",
        "--to": "2031-06-02",
        "--out": str(tmp_path / "out"),
        **change,
    }
    arguments = [part for option in options.items() for part in option]
    assert main(["replay", SMALL, *arguments]) == 2
    told = capsys.readouterr()
    assert message in told.err
    assert told.err.count("\n") == 1
    assert told.out == ""


@pytest.mark.parametrize(
    "arguments",
    [
        ["replay", SMALL],
        ["replay", SMALL, "--weather", "x", "--from", "June", "--to", "July", "--out", "x"],
        ["devices", SMALL],
        ["devices", SMALL, "--broker", "localhost:mqtt"],
        ["devices", SMALL, "--broker", "localhost", "--speed", "0"],
        [],
    ],
)
def test_a_wrong_command_is_exit_code_2(arguments: list[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main(arguments)
    assert ended.value.code == 2


def test_no_broker_is_one_sentence_and_exit_code_1(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["devices", SMALL, "--broker", "127.0.0.1:1"]) == 1
    assert capsys.readouterr().err.startswith("No broker answers at 127.0.0.1:1")


def test_a_wrong_fault_script_is_one_sentence_and_exit_code_2(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    script = tmp_path / "faults.toml"
    script.write_text("[[fault]]\nkind = 'drop'\nsensor = 'pond'\n", encoding="utf-8")
    command = ["devices", SMALL, "--broker", "127.0.0.1:1", "--faults", str(script)]
    assert main(command) == 2
    assert "no sensor 'pond'" in capsys.readouterr().err


def test_devices_run_until_they_are_told_to_end(
    broker: RunningBroker, ear: Callable[..., Any]
) -> None:
    network = Network(broker.host, broker.port)
    hearing = ear(network, "small/gauge")
    command = [sys.executable, "-m", "steepwell_sim", "devices", SMALL]
    with network:
        devices = subprocess.Popen([*command, "--broker", f"{broker.host}:{broker.port}"])
        assert b"gauge-tips" in hearing.next()[1]
        devices.send_signal(signal.SIGTERM)
        assert devices.wait(10) == 0


def runs(child: str) -> bool:
    """Return whether a process is there and has not ended, waited for or not."""
    try:
        state = (
            Path(f"/proc/{child}/stat").read_text(encoding="ascii").rpartition(")")[2].split()[0]
        )
    except OSError:
        return False
    return state not in {"Z", "X"}


def test_a_replay_that_is_told_to_end_leaves_nothing_running(
    tmp_path: Path,
    broker: RunningBroker,  # noqa: ARG001 - skips where there is none
) -> None:
    record, weather = write_invented(tmp_path / "weather", summer=2031, seed=1)
    command = [sys.executable, "-m", "steepwell_sim", "replay", SMALL, "--weather", str(weather)]
    command += [
        "--record",
        str(record),
        "--from",
        "2031-05-01",
        "--to",
        "2031-09-30",
        "--out",
        str(tmp_path / "out"),
    ]
    replay = subprocess.Popen(command, stderr=subprocess.PIPE, text=True)
    pause, children = threading.Event(), list[str]()
    # The broker, the devices, and on the first morning the worker.
    while replay.poll() is None and len(children) < 3:
        pause.wait(0.05)
        listed = Path(f"/proc/{replay.pid}/task/{replay.pid}/children").read_text(encoding="ascii")
        children = listed.split()
    replay.send_signal(signal.SIGTERM)
    _, told = replay.communicate(timeout=30)
    assert replay.returncode == 1
    assert told.endswith("Ended before it was done.\n")
    # The worker ends when nobody asks it any more.
    until = time.monotonic() + 10
    while (left := [child for child in children if runs(child)]) and time.monotonic() < until:
        pause.wait(0.05)
    assert not left
