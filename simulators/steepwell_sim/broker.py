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
Kind = Literal["mosquitto", "embedded"]

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
def run_broker(kind: Kind | None = None) -> Iterator[RunningBroker]:
    """Run a broker until the context ends.

    Parameters
    ----------
    kind
        Which; None for Mosquitto if it is installed, else the embedded one.

    Yields
    ------
    RunningBroker
        Once it answers.

    Raises
    ------
    BrokerError
        If it is not installed or does not start.
    """
    kind = kind or ("embedded" if _find_mosquitto() is None else "mosquitto")
    with tempfile.TemporaryDirectory(prefix="steepwell-broker-") as folder:
        log = Path(folder) / "broker.log"
        for _ in range(_STARTS):
            port = _free_port()
            with _running(_command(kind, Path(folder), port), log) as process:
                if _answers(process, port):
                    yield RunningBroker(LOOPBACK, port, "3.1.1" if kind == "embedded" else "5")
                    return
        said = log.read_text(encoding="utf-8", errors="replace").strip().splitlines()
        raise BrokerError(
            f"The {kind} broker does not start: {said[-1] if said else 'it says nothing'}"
        )


def _command(kind: Kind, folder: Path, port: int) -> list[str]:
    if kind == "embedded":
        if importlib.util.find_spec("amqtt") is None:
            raise BrokerError(
                "No broker is installed: install Mosquitto, or the embedded one with "
                'pip install "steepwell[sim]".'
            )
        return [sys.executable, "-m", "steepwell_sim.embedded_broker", str(port)]
    mosquitto = _find_mosquitto()
    if mosquitto is None:
        raise BrokerError("Mosquitto is not installed; install it, or use the embedded broker.")
    return [mosquitto, "-c", str(_write_settings(folder, port))]


def _find_mosquitto() -> str | None:
    return shutil.which("mosquitto") or shutil.which("mosquitto", path="/usr/sbin:/usr/local/sbin")


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
            command,
            stdin=subprocess.DEVNULL,
            stdout=output,
            stderr=output,
            process_group=0,  # an interrupt from the terminal is for us, who end it in order
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
