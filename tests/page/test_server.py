"""The page is served from a thread that ends when it is told to."""

from __future__ import annotations

import shutil
import socket
import threading
from typing import TYPE_CHECKING

import httpx2
import pytest
from tests.servers import free_port

from steepwell.app import Daemon
from steepwell.errors import PageError
from steepwell.garden.site import Page
from steepwell.page.app import page_app
from steepwell.page.server import PageServer
from steepwell.page.serving import serve_page
from steepwell.store.store import garden_store_url, open_store

if TYPE_CHECKING:
    from pathlib import Path

    from steepwell.clock import ReplayClock
    from steepwell.garden.garden import Garden
    from steepwell.page.desk import Ask
    from steepwell.store.store import Store

ANY_FREE = 0


def test_it_answers_until_it_is_stopped(
    garden: Garden, store: Store, clock: ReplayClock, ask: Ask
) -> None:
    settings = Page.model_construct(port=ANY_FREE)
    server = PageServer(page_app(garden, settings, store, clock, ask), settings)
    server.start()
    try:
        answer = httpx2.get(f"http://127.0.0.1:{server.port}/", trust_env=False)
        taken = PageServer(
            page_app(garden, settings, store, clock, ask),
            Page.model_construct(port=server.port),
        )
        with pytest.raises(PageError, match="another program has that port"):
            taken.start()
    finally:
        server.stop()
    assert answer.status_code == 200
    assert answer.headers["date"].endswith("GMT")
    assert "page" not in {thread.name for thread in threading.enumerate()}


def test_a_garden_that_is_looked_after_shows_its_page_until_the_end(
    garden: Garden, clock: ReplayClock, blank: Path
) -> None:
    shutil.copy(blank, garden.folder)
    with open_store(garden_store_url(garden), garden) as store:
        # Nothing is due that takes a worker.
        store.ledger.finish("outlook", clock.now())
    port = free_port()
    shown = garden.model_copy(update={"page": Page(port=port)})
    daemon = Daemon(shown, clock)
    daemon.start()
    daemon.serve()
    try:
        answer = httpx2.get(f"http://localhost:{port}/healthz", trust_env=False)
    finally:
        daemon.stop()
    assert answer.status_code == 200
    with pytest.raises(httpx2.ConnectError):
        httpx2.get(f"http://localhost:{port}/healthz", trust_env=False)


def test_without_its_port_a_garden_is_looked_after_all_the_same(
    garden: Garden, store: Store, clock: ReplayClock, caplog: pytest.LogCaptureFixture
) -> None:
    with socket.create_server(("127.0.0.1", 0)) as other:
        settings = Page(port=other.getsockname()[1])
        assert serve_page(garden, settings, store, clock) is None
    assert "another program has that port" in caplog.text
