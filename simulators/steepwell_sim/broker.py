"""Starts a broker in a process of its own, on a free port of this machine only."""

from __future__ import annotations

import contextlib
import getpass
import importlib.util
import shutil
import socket
import subprocess
import sys
import tempfile
import threading
import time
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from steepwell.errors import BrokerError
from steepwell.garden.tables import config_dir

if TYPE_CHECKING:
    from collections.abc import Iterator

LOOPBACK = "127.0.0.1"
_STARTS = 3
_ANSWERS_WITHIN_S = 10.0
_ENDS_WITHIN_S = 10.0
_BETWEEN_KNOCKS_S = 0.02

# Settings of our Mosquitto file that belong to the machine it is meant for.
_OF_THE_MACHINE = frozenset(
    {
        "acl_file", "allow_anonymous", "bind_address", "include_dir", "listener", "log_dest",
        "log_type", "password_file", "persistence_location", "pid_file", "port",
        "socket_domain", "user",
    }
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class RunningBroker:
    """A broker that answers.

    Attributes
    ----------
    host, port
        Where.
    protocol
        The newest MQTT it speaks.
    """

    host: str
    port: int
    protocol: Literal["5", "3.1.1"]


@contextlib.contextmanager
def run_broker() -> Iterator[RunningBroker]:
    """Run Mosquitto if it is installed, else the embedded broker, until the context ends.

    Yields
    ------
    RunningBroker
        Once it answers.

    Raises
    ------
    BrokerError
        If neither is installed or it does not start.
    """
    with tempfile.TemporaryDirectory(prefix="steepwell-broker-") as folder:
        mosquitto = _find_mosquitto()
        for _ in range(_STARTS):
            port = _free_port()
            if mosquitto is not None:
                command = [mosquitto, "-c", str(_write_settings(Path(folder), port))]
            else:
                command = [sys.executable, "-m", _embedded_module(), str(port)]
            with _running(command, Path(folder) / "broker.log") as process:
                if _answers(process, port):
                    yield RunningBroker(LOOPBACK, port, "3.1.1" if mosquitto is None else "5")
                    return
        log = (Path(folder) / "broker.log").read_text(encoding="utf-8", errors="replace")
        last = log.strip().splitlines()[-1:] or ["it says nothing"]
        raise BrokerError(f"The broker {command[0]} does not start: {last[0]}")


def _find_mosquitto() -> str | None:
    return shutil.which("mosquitto") or shutil.which("mosquitto", path="/usr/sbin:/usr/local/sbin")


def _embedded_module() -> str:
    if importlib.util.find_spec("amqtt") is None:
        raise BrokerError(
            "No broker is installed: install Mosquitto, or the embedded one with "
            'pip install "steepwell[sim]".'
        )
    return "steepwell_sim.embedded_broker"


def _write_settings(folder: Path, port: int) -> Path:
    """Write our Mosquitto file for another place: this folder, this port, this machine only."""
    shipped = (config_dir() / "mosquitto.conf").read_text(encoding="utf-8").splitlines()
    settings = [
        line for line in shipped if line.split()[:1] and line.split()[0] not in _OF_THE_MACHINE
    ]
    settings += [
        f"user {getpass.getuser()}",
        f"persistence_location {folder}/",
        "log_dest stderr",
        "log_type error",
        "log_type warning",
        f"listener {port} {LOOPBACK}",
        "allow_anonymous true",
    ]
    path = folder / "mosquitto.conf"
    path.write_text("\n".join(settings) + "\n", encoding="utf-8")
    return path


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind((LOOPBACK, 0))
        return int(probe.getsockname()[1])


@contextlib.contextmanager
def _running(command: list[str], log: Path) -> Iterator[subprocess.Popen[bytes]]:
    with log.open("wb") as output:
        process = subprocess.Popen(  # noqa: S603 - the command is ours
            command, stdin=subprocess.DEVNULL, stdout=output, stderr=output
        )
        try:
            yield process
        finally:
            process.terminate()
            try:
                process.wait(_ENDS_WITHIN_S)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait()


def _answers(process: subprocess.Popen[bytes], port: int) -> bool:
    """Knock until the broker opens, it ends, or time is up."""
    until = time.monotonic() + _ANSWERS_WITHIN_S
    pause = threading.Event()
    while process.poll() is None and time.monotonic() < until:
        with contextlib.suppress(OSError), socket.create_connection((LOOPBACK, port), timeout=1):
            return True
        pause.wait(_BETWEEN_KNOCKS_S)
    return False
