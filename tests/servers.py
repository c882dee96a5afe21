"""Starts real servers for tests: a Mosquitto broker, a PostgreSQL, on this machine only."""

from __future__ import annotations

import os
import re
import shutil
import signal
import socket
import subprocess
import tempfile
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

CONFIG = Path(__file__).resolve().parents[1] / "config" / "mosquitto.conf"
STARTS_WITHIN_S = 10.0
# What Debian's package puts into its own file, which reads ours.
PACKAGE_FILE = """
persistence true
persistence_location {folder}/
include_dir {folder}/conf.d
"""


def mosquitto_binary() -> str | None:
    """Where Mosquitto is, also outside the search path, where distributions put servers."""
    return shutil.which("mosquitto") or shutil.which("mosquitto", path="/usr/sbin:/usr/local/sbin")


def require_mosquitto() -> str:
    """Skip the test when there is no Mosquitto; where CI is set, fail it."""
    binary = mosquitto_binary()
    if binary is None:
        reason = "Mosquitto is not installed"
        if os.environ.get("CI") == "true":
            pytest.fail(reason)
        pytest.skip(reason)
    return binary


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
    return port


class Mosquitto:
    """A broker with the project's own settings, its files in a folder of the test."""

    def __init__(
        self,
        binary: str,
        folder: Path,
        settings: Mapping[str, str],
        *,
        quiet: bool = False,
        config: Path = CONFIG,
    ) -> None:
        self.port = free_port()
        self._options = [] if quiet else ["-v"]
        self._folder = folder
        self._file = folder / "mosquitto.conf"
        # Started by root it would become another user, who may not write into our folder.
        user = "user root\n" if os.geteuid() == 0 else ""
        self._file.write_text(PACKAGE_FILE.format(folder=folder) + user, encoding="utf-8")
        (folder / "conf.d").mkdir()
        ours = folder / "conf.d" / "steepwell.conf"
        ours.write_text(_settings(config, self.port, settings), encoding="utf-8")
        self._binary = binary
        self._process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        """Start it and wait until it listens."""
        log = (self._folder / "mosquitto.log").open("ab")
        with log:
            self._process = subprocess.Popen(
                [self._binary, *self._options, "-c", str(self._file)], stdout=log, stderr=log
            )
        self._await_listener()

    def _await_listener(self) -> None:
        assert self._process is not None
        tries = round(STARTS_WITHIN_S / 0.02)
        for _ in range(tries):
            try:
                socket.create_connection(("127.0.0.1", self.port), timeout=1).close()
            except OSError:
                try:
                    self._process.wait(0.02)
                except subprocess.TimeoutExpired:
                    continue
                break
            else:
                return
        pytest.fail(f"Mosquitto did not start: {self.log()[-2000:]}")

    def stop(self, how: signal.Signals = signal.SIGTERM) -> None:
        """Stop it by its process, orderly or not."""
        if self._process is not None:
            self._process.send_signal(how)
            self._process.wait(10)
            self._process = None

    def forget(self) -> None:
        """Lose what it would have kept over a restart: sessions, retained and waiting messages."""
        assert self._process is None
        (self._folder / "mosquitto.db").unlink()

    def log(self) -> str:
        """What it said so far."""
        return (self._folder / "mosquitto.log").read_text(encoding="utf-8", errors="replace")


def _settings(config: Path, port: int, settings: Mapping[str, str]) -> str:
    """Return the project's file with the port and other settings of a test."""
    text = config.read_text(encoding="utf-8")
    for name, value in {"listener": f"{port} 127.0.0.1", **settings}.items():
        line = rf"^{name} .*$"
        text, count = re.subn(line, f"{name} {value}", text, flags=re.MULTILINE)
        assert count == 1, f"{config} has no line like {line}"
    return text


@contextmanager
def mosquitto(
    folder: Path,
    settings: Mapping[str, str] | None = None,
    *,
    quiet: bool = False,
    config: Path = CONFIG,
) -> Iterator[Mosquitto]:
    """Run a broker for the length of a block; a quiet one notes only its troubles."""
    broker = Mosquitto(require_mosquitto(), folder, settings or {}, quiet=quiet, config=config)
    broker.start()
    try:
        yield broker
    finally:
        broker.stop()


class Postgres:
    """A PostgreSQL server of our own, on a free port of this machine and in a fresh folder."""

    PASSWORD = "quince"  # noqa: S105 - of a server that lives as long as a test

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._files = folder / "files"
        self.port = free_port()
        # It refuses to run as root.
        self._user = "postgres" if os.geteuid() == 0 else None

    def start(self) -> None:
        """Make its files, start it and wait until it answers."""
        if self._user is not None:
            shutil.chown(self._folder, self._user)
        word = self._folder / "password"
        word.write_text(self.PASSWORD, encoding="utf-8")
        word.chmod(0o644)
        self._run(
            "initdb",
            *("--no-sync", "--encoding=UTF8", "--locale=C", "--username=steepwell"),
            *("--auth-local=trust", "--auth-host=scram-sha-256", f"--pwfile={word}"),
            f"--pgdata={self._files}",
        )
        self.restart()

    def restart(self) -> None:
        """Start it on the files it has."""
        options = f"-c listen_addresses=127.0.0.1 -p {self.port} -k {self._folder}"
        options += " -c fsync=off -c full_page_writes=off -c max_connections=40"
        self._run(
            "pg_ctl",
            "-w",
            "-s",
            "-D",
            self._files,
            "-l",
            self._folder / "log",
            "-o",
            options,
            "start",
        )

    def stop(self) -> None:
        """Stop it."""
        self._run("pg_ctl", "-s", "-m", "immediate", "-D", self._files, "stop")

    def url(self, database: str) -> str:
        """Return the address of a database, which is reached without a password."""
        return f"postgresql+psycopg://steepwell@/{database}?host={self._folder}&port={self.port}"

    def make(self, database: str) -> str:
        """Make an empty database, and return its address."""
        self._run("createdb", "-h", self._folder, "-p", str(self.port), "-U", "steepwell", database)
        return self.url(database)

    def _run(self, program: str, *words: str | Path) -> None:
        done = subprocess.run(
            [postgres_program(program), *words],
            check=False,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            text=True,
            user=self._user,
            group=self._user,
            extra_groups=[] if self._user is not None else None,
            cwd="/",
        )
        assert done.returncode == 0, done.stderr


def postgres_program(name: str) -> str:
    """Return where a program of PostgreSQL is; skip the test, or fail it, where there is none."""
    found = sorted(Path("/usr/lib/postgresql").glob(f"*/bin/{name}"))
    program = str(found[-1]) if found else shutil.which(name)
    if program is None:
        reason = "PostgreSQL is not installed"
        if os.environ.get("CI") == "true":
            pytest.fail(reason)
        pytest.skip(reason)
    return program


@contextmanager
def postgres() -> Iterator[Postgres]:
    """Run a server for the length of a block."""
    postgres_program("initdb")
    # The folders of tests are closed to the user it runs as.
    with tempfile.TemporaryDirectory(prefix="steepwell-postgres-") as folder:
        Path(folder).chmod(0o755)
        server = Postgres(Path(folder))
        server.start()
        try:
            yield server
        finally:
            server.stop()
