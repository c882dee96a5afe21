"""The page is served from a thread that ends when it is told to."""

from __future__ import annotations

import threading
from typing import TYPE_CHECKING

import httpx2
import pytest

from steepwell.errors import PageError
from steepwell.garden.site import Page
from steepwell.page.app import page_app
from steepwell.page.server import PageServer

if TYPE_CHECKING:
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
    assert "page" not in {thread.name for thread in threading.enumerate()}
