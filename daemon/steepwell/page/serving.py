"""Serves the page of a garden that is looked after, with a worker of its own."""

from __future__ import annotations

import logging
import threading
from typing import TYPE_CHECKING, Any

from steepwell.errors import PageError
from steepwell.page.app import page_app
from steepwell.page.server import PageServer
from steepwell.tell.links import JOB_LINKS
from steepwell.workshop import Workshop

if TYPE_CHECKING:
    from datetime import datetime

    from steepwell.clock import Clock
    from steepwell.garden.garden import Garden
    from steepwell.garden.site import Page
    from steepwell.store.store import Store

_LOG = logging.getLogger(__name__)
TIME_LIMIT_S = 20.0


def serve_page(garden: Garden, settings: Page, store: Store, clock: Clock) -> PageServer | None:
    """Begin to serve the page.

    Parameters
    ----------
    garden
        The garden.
    settings
        What it says of its page.
    store
        Where everything is.
    clock
        What tells the time.

    Returns
    -------
    PageServer or None
        To be stopped in the end; None if it could not start, for the garden is looked after
        without a page too.
    """
    # The letter is composed by a worker, which reads and makes nothing.
    store.secrets.made(JOB_LINKS)
    workshop = Workshop(garden, seed=0, warm=False, time_limit_s=TIME_LIMIT_S)
    one_at_a_time = threading.Lock()

    def ask(task: str, now: datetime, **more: object) -> dict[str, Any]:
        with one_at_a_time:
            return workshop.ask(task, now, **more)

    server = PageServer(page_app(garden, settings, store, clock, ask), settings)
    try:
        server.start()
    except PageError as error:
        _LOG.error("%s", error)
        return None
    _LOG.info("the page is at http://%s:%d", settings.host, server.port)
    return server
