"""A forecast fetched from a server of this machine."""

from __future__ import annotations

import json
import threading
from datetime import UTC, datetime
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, HTTPServer
from typing import TYPE_CHECKING

import pytest
from tests.gardens import make_garden

from steepwell.app import Daemon
from steepwell.clock import ReplayClock
from steepwell.sense.fetch import fetch_forecast
from steepwell.sense.forecasts import latest_forecast
from steepwell.store.store import Store, garden_store_url, open_store

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from steepwell.garden.garden import Garden

    Serve = Callable[..., str]

NOW = datetime(2031, 6, 2, 9, 25, tzinfo=UTC)
DAYS = [{"day": "2031-06-02", "rain": 4.5, "low": 11, "high": 19.5}]
GOOD = json.dumps({"days": DAYS}).encode()
POINTERS = {"days": "/days", "date": "/day", "rain": "/rain", "tmin": "/low", "tmax": "/high"}


@pytest.fixture
def serve() -> Iterator[Serve]:
    servers: list[HTTPServer] = []

    def serve(body: bytes, status: HTTPStatus = HTTPStatus.OK) -> str:
        class Handler(BaseHTTPRequestHandler):
            def do_GET(self) -> None:
                self.send_response(status)
                self.send_header("Content-Length", str(len(body)))
                self.end_headers()
                self.wfile.write(body)

            def log_message(self, *_: object) -> None:
                pass

        servers.append(HTTPServer(("127.0.0.1", 0), Handler))
        threading.Thread(target=servers[-1].serve_forever, args=(0.01,), daemon=True).start()
        return f"http://127.0.0.1:{servers[-1].server_port}/days.json?key=secret"

    yield serve
    for server in servers:
        server.shutdown()
        server.server_close()


@pytest.fixture
def fetching(tmp_path: Path) -> Callable[[str], Garden]:
    return lambda url: make_garden(tmp_path, forecast={"url": url, **POINTERS})


def after_an_hour(garden: Garden) -> Store:
    """Let a daemon do what is due, and return what it has stored."""
    daemon = Daemon(garden, ReplayClock(NOW))
    daemon.start()
    try:
        assert "forecast" in [done.job for done in daemon.run_due()]
        # It is not tried again within the hour.
        assert daemon.run_due() == []
    finally:
        daemon.stop()
    return open_store(garden_store_url(garden), garden, read_only=True)


def fetched(garden: Garden) -> Store:
    """Fetch once, and return what is stored then."""
    url = garden_store_url(garden)
    with open_store(url, garden) as store:
        fetch_forecast(garden, store, NOW)
    return open_store(url, garden, read_only=True)


def test_a_forecast_is_fetched(serve: Serve, fetching: Callable[[str], Garden]) -> None:
    garden = fetching(serve(GOOD))
    with after_an_hour(garden) as store:
        forecast = latest_forecast(garden, store, NOW)
        assert forecast is not None
        assert [day.rain_mm for day in forecast.days] == [4.5]
        assert store.refused.count(NOW) == 0


@pytest.mark.parametrize(
    ("body", "reason"),
    [
        (b"<html>", "this is no JSON"),
        (b"{}", "there is nothing at '/days' in this message"),
        (b" " * 10_000_000, "262,145 bytes are too much for a message"),
    ],
)
def test_what_is_no_forecast_is_refused_without_the_key_to_it(
    serve: Serve, fetching: Callable[[str], Garden], body: bytes, reason: str
) -> None:
    garden = fetching(serve(body))
    with fetched(garden) as store:
        (refused,) = store.refused.newest(9)
        assert refused.reason.startswith(reason)
        assert refused.topic == "http://127.0.0.1/days.json"


def test_a_server_that_trickles_is_not_waited_for(
    fetching: Callable[[str], Garden], caplog: pytest.LogCaptureFixture
) -> None:
    gone = threading.Event()

    class Trickle(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            self.send_response(HTTPStatus.OK)
            self.end_headers()
            try:
                while not gone.wait(0.01):
                    self.wfile.write(b" ")
            except OSError:
                gone.set()

        def log_message(self, *_: object) -> None:
            pass

    with HTTPServer(("127.0.0.1", 0), Trickle) as server:
        thread = threading.Thread(target=server.handle_request)
        thread.start()
        garden = fetching(f"http://127.0.0.1:{server.server_port}/days.json")
        with open_store(garden_store_url(garden), garden) as store:
            fetch_forecast(garden, store, NOW, patience_s=0.2)
            assert latest_forecast(garden, store, NOW) is None
        gone.set()
        thread.join()
    assert "it was not all there after 0.2 s" in caplog.text


def test_a_server_that_refuses_or_is_away_is_told_in_the_log(
    serve: Serve, fetching: Callable[[str], Garden], caplog: pytest.LogCaptureFixture
) -> None:
    garden = fetching(serve(b"", HTTPStatus.INTERNAL_SERVER_ERROR))
    with fetched(garden) as store:
        assert latest_forecast(garden, store, NOW) is None
    assert "no forecast comes from http://127.0.0.1/days.json (HTTP Error 500" in caplog.text
    assert "secret" not in caplog.text


def test_nobody_there_is_told_in_the_log(
    fetching: Callable[[str], Garden], caplog: pytest.LogCaptureFixture
) -> None:
    # Port 1 needs rights that nobody who tests has.
    garden = fetching("http://127.0.0.1:1/days.json")
    with after_an_hour(garden) as store:
        assert store.refused.count(NOW) == 0
    assert "it is tried again in an hour" in caplog.text
