"""Servers that a mirror sends to: a faulty one of our own, and VictoriaMetrics."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import threading
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import TYPE_CHECKING, Any
from urllib.parse import parse_qs, urlencode, urlsplit
from urllib.request import urlopen

import pytest
from tests.servers import STARTS_WITHIN_S, free_port

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

# Measurement with its tags, and time [ms since 1970].
Key = tuple[str, int]

TOKEN = "plum-9f3c7a51"  # noqa: S105 - opens nothing
MALFORMED = "unable to parse"


class FaultyServer:
    """Takes lines as an InfluxDB v2 server does, but for the faults it is told to have.

    Attributes
    ----------
    faults
        What happens to the next requests, one each: None, a status, "hang", "drop" (the connection
        breaks before anything is taken) or "deafen" (it breaks after all of it was).
    headers
        What comes with a status of ``faults``.
    says
        What the body of such an answer is.
    most_bytes
        A longer body is answered with 413.
    refuses
        Tells whether a line is bad: it is left out, and the answer is 400.
    taken
        The fields of each point; what comes again replaces what was there.
    requests
        Path, query, headers and lines of each request.
    """

    def __init__(self, port: int = 0) -> None:
        self.faults: list[int | str | None] = []
        self.headers: dict[str, str] = {}
        self.says = '{"code": "unavailable", "message": "try later"}'
        self.most_bytes = 1_000_000
        self.refuses: Callable[[str], bool] = lambda _line: False
        self.taken: dict[Key, str] = {}
        self.requests: list[tuple[str, dict[str, list[str]], dict[str, str], list[str]]] = []
        self._ended = threading.Event()
        self._server = ThreadingHTTPServer(("127.0.0.1", port), _handler(self))
        self._server.daemon_threads = False
        self._thread = threading.Thread(target=self._server.serve_forever, args=(0.02,))
        self._thread.start()

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self._server.server_port}"

    def close(self) -> None:
        self._ended.set()
        self._server.shutdown()
        self._server.server_close()
        self._thread.join()

    def measured(self, measurement: str) -> dict[Key, str]:
        """Return the points of one measurement."""
        return {key: taken for key, taken in self.taken.items() if key[0].startswith(measurement)}

    def take(self, body: bytes) -> tuple[int, str]:
        """Keep what can be kept, and return the answer."""
        if len(body) > self.most_bytes:
            return 413, '{"code": "request too large", "message": "too large"}'
        bad = []
        for line in body.decode().splitlines():
            series, fields, at = line.split(" ")
            if self.refuses(line):
                bad.append(line)
            else:
                self.taken[series, int(at)] = fields
        if not bad:
            return 204, ""
        said = f"partial write: {MALFORMED} '{bad[0]}' dropped={len(bad)}"
        return 400, json.dumps({"code": "invalid", "message": said})

    def answer(self, body: bytes) -> tuple[int, str, dict[str, str]] | None:
        """Return status, body and headers of an answer, None where the connection breaks."""
        fault = self.faults.pop(0) if self.faults else None
        if isinstance(fault, int):
            return fault, self.says, self.headers
        if fault == "hang":
            self._ended.wait()
        if fault == "deafen":
            self.take(body)
        return None if fault is not None else (*self.take(body), {})


def _handler(fake: FaultyServer) -> type[BaseHTTPRequestHandler]:
    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers["Content-Length"]))
            parts = urlsplit(self.path)
            headers, lines = dict(self.headers), body.decode().splitlines()
            fake.requests.append((parts.path, parse_qs(parts.query), headers, lines))
            answer = fake.answer(body)
            if answer is None:
                return
            status, said, headers = answer
            self.send_response(status)
            for name, value in headers.items():
                self.send_header(name, value)
            self.end_headers()
            self.wfile.write(said.encode())

        def log_message(self, *_: object) -> None:
            """Say nothing."""

    return Handler


def victoria_metrics_binary() -> str | None:
    """Where VictoriaMetrics is."""
    return shutil.which("victoria-metrics")


def require_victoria_metrics() -> str:
    """Skip the test where there is no VictoriaMetrics; where CI is set, fail it."""
    binary = victoria_metrics_binary()
    if binary is None:
        reason = "VictoriaMetrics is not installed"
        if os.environ.get("CI") == "true":
            pytest.fail(reason)
        pytest.skip(reason)
    return binary


class VictoriaMetrics:
    """A VictoriaMetrics on a free port of this machine, its data in a folder of the test."""

    def __init__(self, binary: str, folder: Path, port: int) -> None:
        self.url = f"http://127.0.0.1:{port}"
        self._log = folder / "victoria-metrics.log"
        options = {
            "storageDataPath": str(folder / "data"),
            "httpListenAddr": f"127.0.0.1:{port}",
            "retentionPeriod": "100y",
            "dedup.minScrapeInterval": "1ms",
            "search.latencyOffset": "0s",
            "loggerLevel": "WARN",
        }
        with self._log.open("ab") as log:
            self._process = subprocess.Popen(
                [binary, *(f"-{name}={value}" for name, value in options.items())],
                stdout=log,
                stderr=log,
            )
        self._await_health()

    def _await_health(self) -> None:
        for _ in range(round(STARTS_WITHIN_S / 0.05)):
            try:
                with urlopen(f"{self.url}/health", timeout=1):  # noqa: S310 - our own
                    return
            except OSError:
                try:
                    self._process.wait(0.05)
                except subprocess.TimeoutExpired:
                    continue
                break
        pytest.fail(f"VictoriaMetrics did not start: {self._log.read_text()[-2000:]}")

    def stored(self, name: str, start_ms: int, end_ms: int) -> list[dict[str, Any]]:
        """Return the series of a name: ``metric``, ``values`` and ``timestamps`` [ms] of each."""
        with urlopen(f"{self.url}/internal/force_flush", timeout=30):  # noqa: S310 - our own
            pass
        asked = {"match[]": name, "start": start_ms / 1000, "end": end_ms / 1000}
        with urlopen(f"{self.url}/api/v1/export?{urlencode(asked)}", timeout=30) as answer:  # noqa: S310 - our own
            return [json.loads(line) for line in answer]

    def stop(self) -> None:
        """Stop it in order."""
        self._process.terminate()
        self._process.wait(30)


@contextmanager
def victoria_metrics(folder: Path, port: int | None = None) -> Iterator[VictoriaMetrics]:
    """Run a VictoriaMetrics for the length of a block."""
    server = VictoriaMetrics(require_victoria_metrics(), folder, port or free_port())
    try:
        yield server
    finally:
        server.stop()
