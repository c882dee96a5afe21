"""Heavy work in a process of its own: what it answers, and what is said when it fails."""

from __future__ import annotations

import os
import select
import signal
import subprocess
import sys
import threading
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import pytest
from tests.gardens import flat_record, make_garden, write_record

from steepwell.errors import WorkerError
from steepwell.store.store import garden_store_url, open_store
from steepwell.workshop import Workshop

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from steepwell.garden.garden import Garden

NOW = datetime(2031, 6, 10, 5, 30, tzinfo=UTC)


def garden_in(folder: Path) -> Garden:
    write_record(folder / "weather.csv", flat_record())
    garden = make_garden(folder, weather_record={"daily": "weather.csv"})
    open_store(garden_store_url(garden), garden).close()
    return garden


@pytest.fixture(scope="module")
def warm(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Workshop]:
    workshop = Workshop(
        garden_in(tmp_path_factory.mktemp("garden")), seed=3, warm=True, time_limit_s=20.0
    )
    yield workshop
    workshop.close()


def pid_of(workshop: Workshop) -> int:
    assert workshop._process is not None
    return workshop._process.pid


def test_a_worker_answers_with_outlook_and_plan(warm: Workshop) -> None:
    answer = warm.ask("outlook", NOW)
    assert set(answer) == {"outlook", "plan", "findings", "beside"}
    assert answer["outlook"]["issued"] == "2031-06-10T05:30:00+00:00"
    assert answer["plan"]["week"] == ["2031-06-10", "2031-06-16"]


def test_a_warm_worker_is_kept_and_gives_the_same_again(warm: Workshop) -> None:
    first = warm.ask("outlook", NOW)
    pid = pid_of(warm)
    assert warm.ask("outlook", NOW) == first
    assert pid_of(warm) == pid


def test_a_worker_that_is_killed_while_it_works_is_told(warm: Workshop) -> None:
    warm.ask("outlook", NOW)
    pid = pid_of(warm)
    # Held still, it has the request and cannot answer.
    os.kill(pid, signal.SIGSTOP)
    with ThreadPoolExecutor(1) as pool:
        asking = pool.submit(warm.ask, "outlook", NOW)
        os.kill(pid, signal.SIGKILL)
        with pytest.raises(WorkerError, match=r"^the worker ended early \(signal 9\)$"):
            asking.result(timeout=20)
    # The next request gets a worker of its own.
    assert warm.ask("outlook", NOW)["plan"]
    assert pid_of(warm) != pid


def test_a_worker_that_is_killed_as_it_starts_is_told(tmp_path: Path) -> None:
    workshop = Workshop(garden_in(tmp_path), seed=1, warm=False)
    with ThreadPoolExecutor(1) as pool:
        asking = pool.submit(workshop.ask, "outlook", NOW)
        while workshop._process is None:
            threading.Event().wait(0.001)
        os.kill(pid_of(workshop), signal.SIGKILL)
        with pytest.raises(WorkerError, match=r"ended early \(signal 9\)"):
            asking.result(timeout=20)
    assert workshop._process is None


def test_a_worker_that_died_between_two_requests_is_told(warm: Workshop) -> None:
    warm.ask("letter", NOW)
    assert warm._process is not None
    warm._process.kill()
    warm._process.wait()
    with pytest.raises(WorkerError, match=r"ended early \(signal 9\)"):
        warm.ask("letter", NOW)
    assert warm.ask("letter", NOW) == {"letters": []}


def test_a_worker_that_takes_too_long_is_ended(tmp_path: Path) -> None:
    workshop = Workshop(garden_in(tmp_path), seed=1, warm=True, time_limit_s=0.02)
    with pytest.raises(WorkerError, match=r"^the worker took longer than 0\.02 s$"):
        workshop.ask("outlook", NOW)
    assert workshop._process is None


def test_a_worker_that_cannot_go_on_is_told(warm: Workshop) -> None:
    with pytest.raises(WorkerError, match=r"^the worker ended early \(exit code 1\)$"):
        warm.ask("no-such-task", NOW)


def test_what_the_work_itself_refuses_is_passed_on(tmp_path: Path) -> None:
    garden = make_garden(tmp_path)
    workshop = Workshop(garden, seed=1, warm=True)
    with pytest.raises(WorkerError, match=r"there is no store .* yet; start the daemon"):
        workshop.ask("outlook", NOW)
    pid = pid_of(workshop)
    # With a store there, the same worker does its work, without a weather record as far as it can.
    open_store(garden_store_url(garden), garden).close()
    answer = workshop.ask("outlook", NOW)
    assert pid_of(workshop) == pid
    assert answer["outlook"] is None
    assert answer["plan"]["water"] == []
    workshop.close()
    workshop.close()
    assert workshop._process is None


def test_a_worker_ends_with_who_asked() -> None:
    starts = (
        "import os, subprocess, sys, threading\n"
        "command = [sys.executable, '-m', 'steepwell.worker', str(os.getpid())]\n"
        "worker = subprocess.Popen(command)\n"
        "sys.stderr.write(f'{worker.pid}\\n')\n"
        "threading.Event().wait(60)\n"
    )
    # Its input comes from here and stays open, so that nothing else tells it.
    with subprocess.Popen(
        [sys.executable, "-c", starts], stdin=subprocess.PIPE, stderr=subprocess.PIPE
    ) as asking:
        assert asking.stderr is not None
        worker = os.pidfd_open(int(asking.stderr.readline()))
        try:
            asking.kill()
            # Readable means ended.
            assert select.select([worker], [], [], 60.0)[0]
        finally:
            os.close(worker)
