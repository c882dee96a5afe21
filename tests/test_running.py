"""``steepwell run`` under a service manager, with a garden file that changes, by a wrong clock."""

from __future__ import annotations

import os
import shutil
import signal
import socket
import subprocess
import sys
import threading
from contextlib import contextmanager
from typing import TYPE_CHECKING

import pytest
from tests.commands.answers import GARDEN

from steepwell.clock import WallClock
from steepwell.errors import CommandError, GardenFileError, SteepwellError
from steepwell.garden.load import load_garden
from steepwell.screens import status_report, status_screen
from steepwell.standing_by import Presence, have_reloaded, running_daemon
from steepwell.store.store import garden_store_url, open_store

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

WITHIN_S = 30.0
BARE = GARDEN.replace('[weather_record]\ndaily = "weather.csv"\n', "")
RUN = (sys.executable, "-m", "steepwell.cli", "run")


@pytest.fixture
def garden_file(tmp_path: Path) -> Path:
    path = tmp_path / "garden.toml"
    path.write_text(BARE, encoding="utf-8")
    return path


class Running:
    """A daemon in a process of its own; what it says is awaited line by line."""

    def __init__(self, *command: str, **environment: str) -> None:
        self.process = subprocess.Popen(
            command, stderr=subprocess.PIPE, text=True, env={**os.environ, **environment}
        )
        self.said: list[str] = []
        self._news = threading.Condition()
        self._thread = threading.Thread(target=self._listen)
        self._thread.start()

    def _listen(self) -> None:
        assert self.process.stderr is not None
        for line in self.process.stderr:
            with self._news:
                self.said.append(line)
                self._news.notify_all()

    def says(self, words: str) -> None:
        with self._news:
            heard = self._news.wait_for(lambda: any(words in line for line in self.said), WITHIN_S)
        assert heard, self.said

    def ends(self) -> int:
        self.process.send_signal(signal.SIGTERM)
        code = self.process.wait(WITHIN_S)
        self._thread.join()
        assert self.process.stderr is not None
        self.process.stderr.close()
        return code


@contextmanager
def running(*command: str, **environment: str) -> Iterator[Running]:
    daemon = Running(*command, **environment)
    try:
        yield daemon
    finally:
        assert daemon.ends() == 0


class Manager:
    """A service manager's socket: an address of the file system."""

    def __init__(self, path: Path) -> None:
        self.address = str(path)
        self._socket = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
        self._socket.settimeout(WITHIN_S)
        self._socket.bind(self.address)

    def hears(self, wanted: str) -> list[str]:
        """Return the lines of the next message that has this one in it."""
        while True:
            lines = self.hears_one().splitlines()
            if wanted in lines:
                return lines

    def hears_one(self) -> str:
        """Return the next message."""
        return self._socket.recv(4096).decode()

    def close(self) -> None:
        self._socket.close()


def test_the_service_manager_is_told_and_a_changed_file_taken_or_refused(
    garden_file: Path, tmp_path: Path
) -> None:
    manager = Manager(tmp_path / "notify")
    told = {"NOTIFY_SOCKET": manager.address, "WATCHDOG_USEC": "100000"}
    try:
        with running(*RUN, str(garden_file), **told) as daemon:
            assert "STATUS=looking after plum-lane" in manager.hears("READY=1")
            manager.hears("WATCHDOG=1")
            assert running_daemon(load_garden(garden_file)) == daemon.process.pid
            health = status_report(load_garden(garden_file), WallClock().now())["health"]
            assert health["process"] == daemon.process.pid
            assert (health["outbox"], health["last_commit"]) == (0, None)

            garden_file.write_text(BARE.replace('"200 L"', '"200"'), encoding="utf-8")
            daemon.process.send_signal(signal.SIGHUP)
            daemon.says("butt[1].litres: found '200'")
            manager.hears("READY=1")

            garden_file.write_text(BARE.replace('"200 L"', '"300 L"'), encoding="utf-8")
            assert f"process {daemon.process.pid}" in have_reloaded(garden_file)
            assert any(line.startswith("MONOTONIC_USEC=") for line in manager.hears("RELOADING=1"))
            daemon.says("garden.toml was read anew")
            manager.hears("READY=1")
            assert refusals(garden_file) == []

            garden_file.write_text(BARE.replace("plum-lane", "pear-row"), encoding="utf-8")
            daemon.process.send_signal(signal.SIGHUP)
            daemon.says("the garden's name and its store change only by a restart")
            daemon.process.send_signal(signal.SIGTERM)
            manager.hears("STOPPING=1")
    finally:
        manager.close()
    garden_file.write_text(BARE, encoding="utf-8")
    report = status_report(load_garden(garden_file), WallClock().now())
    assert report["health"]["process"] is None
    assert status_screen(report).splitlines()[1].startswith("No daemon runs")
    assert refusals(garden_file) == ["The changed garden file was refused"]


def test_the_service_manager_is_told_why_a_garden_is_not_looked_after(
    garden_file: Path, tmp_path: Path
) -> None:
    garden_file.write_text(BARE.replace('"200 L"', '"200"'), encoding="utf-8")
    manager = Manager(tmp_path / "notify")
    environment = {**os.environ, "NOTIFY_SOCKET": manager.address}
    command = (*RUN, str(garden_file))
    try:
        ended = subprocess.run(command, check=False, capture_output=True, env=environment)
        said = manager.hears_one()
    finally:
        manager.close()
    # The unit starts nothing anew that ends with 2.
    assert ended.returncode == 2
    assert said.startswith(f"STATUS={garden_file}: 1 fault ")
    assert "butt[1].litres: found '200'" in said


def refusals(garden_file: Path) -> list[str]:
    """Return the headlines of what stands because a garden file was refused."""
    garden = load_garden(garden_file)
    with open_store(garden_store_url(garden), garden, read_only=True) as store:
        standing = store.notices.standing()
    return [one.last.headline for one in standing if one.kind == "garden-file-refused"]


def test_nothing_is_asked_of_a_daemon_that_is_not_there(garden_file: Path) -> None:
    with pytest.raises(CommandError, match="no daemon looks after plum-lane"):
        have_reloaded(garden_file)
    garden_file.write_text(BARE.replace('"200 L"', '"200"'), encoding="utf-8")
    with pytest.raises(GardenFileError):
        have_reloaded(garden_file)


def test_two_daemons_do_not_look_after_one_store(garden_file: Path) -> None:
    garden = load_garden(garden_file)
    with Presence(garden):
        assert running_daemon(garden) == os.getpid()
        with pytest.raises(SteepwellError, match="another daemon"), Presence(garden):
            pass
    assert running_daemon(garden) is None
    # A number left behind by a process that was killed means nothing.
    garden_file.with_name("steepwell.run").write_text('{"process": 1}', encoding="utf-8")
    assert running_daemon(garden) is None


@pytest.mark.faketime
def test_a_board_that_wakes_up_in_1970_waits_until_its_clock_is_set(
    garden_file: Path, tmp_path: Path
) -> None:
    faketime = shutil.which("faketime")
    if faketime is None:
        (pytest.fail if os.environ.get("CI") == "true" else pytest.skip)("faketime is not there")
    clock = tmp_path / "clock"
    clock.write_text("@1970-01-01 00:00:20\n", encoding="utf-8")
    library = subprocess.run(
        [faketime, "-m", "now", "printenv", "LD_PRELOAD"],
        check=True,
        capture_output=True,
        text=True,
    )
    settings = {
        "LD_PRELOAD": library.stdout.strip(),
        "FAKETIME_TIMESTAMP_FILE": str(clock),
        "FAKETIME_NO_CACHE": "1",
        "FAKETIME_DONT_FAKE_MONOTONIC": "1",
        "TZ": "UTC",
    }
    garden = load_garden(garden_file)
    with running(*RUN, str(garden_file), **settings) as daemon:
        daemon.says("the clock shows 1970-01-01 00:00 UTC, which cannot be")
        daemon.says("looking after plum-lane")
        with open_store(garden_store_url(garden), garden, read_only=True) as store:
            assert store.ledger.all() == {}
        clock.write_text(f"@{WallClock().now():%Y-%m-%d} 00:00:00\n", encoding="utf-8")
        daemon.says("the clock was set from 1970-01-01 00:00 UTC to")
        daemon.says("and work goes on by it")
    with open_store(garden_store_url(garden), garden, read_only=True) as store:
        # What follows in the round starts a worker, which does not get far by this clock.
        first_run = store.ledger.last("first-run")
        assert first_run is not None
        assert first_run.date() == WallClock().now().date()
