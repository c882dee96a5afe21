"""Puts the page together: its routes, and what stands before them."""

from __future__ import annotations

from contextlib import asynccontextmanager
from typing import TYPE_CHECKING

from anyio.to_thread import current_default_thread_limiter
from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.routing import Route

from steepwell.errors import SteepwellError
from steepwell.page.calendar import calendar
from steepwell.page.desk import Desk
from steepwell.page.entering import enter
from steepwell.page.front import front
from steepwell.page.gate import Gate, WrongTokens
from steepwell.page.guard import Guard
from steepwell.page.health import healthz, metrics
from steepwell.page.jobs import job_noted, job_page
from steepwell.page.journal import journal
from steepwell.page.noted import note, thing
from steepwell.page.picture import icon, water_ahead
from steepwell.page.setting import style_sheet
from steepwell.page.trouble import broken, trouble
from steepwell.page.writing import Once

if TYPE_CHECKING:
    from collections.abc import AsyncIterator

    from steepwell.clock import Clock
    from steepwell.garden.garden import Garden
    from steepwell.garden.site import Page
    from steepwell.page.desk import Ask
    from steepwell.store.store import Store

# Each that works keeps a connection to the store, and a garden has few readers at a time.
MOST_AT_ONCE = 4


def page_app(garden: Garden, settings: Page, store: Store, clock: Clock, ask: Ask) -> Starlette:
    """Return the page of a garden.

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
    ask
        Has a worker do what needs NumPy.

    Returns
    -------
    Starlette
        To be served; nothing runs yet.
    """
    routes = [
        Route("/", front),
        Route("/water-ahead.svg", water_ahead),
        Route("/icon.svg", icon),
        *(Route(f"/{of}/{{name}}", thing) for of in ("bed", "vessel", "butt")),
        Route("/garden", thing),
        Route("/journal", journal),
        Route("/healthz", healthz),
        Route("/metrics", metrics),
        Route("/note/{kind}", note, methods=["POST"]),
        Route("/style-{mark}.css", style_sheet),
        Route("/enter/{token}", enter),
        Route("/calendar/{token}.ics", calendar),
        Route("/done/{token}", job_page, methods=["GET"]),
        Route("/done/{token}", job_noted, methods=["POST"]),
    ]
    app = Starlette(
        routes=routes,
        middleware=[Middleware(Guard, settings=settings), Middleware(Gate)],
        exception_handlers={HTTPException: trouble, SteepwellError: trouble, Exception: broken},
        lifespan=_life,
    )
    app.state.desk = Desk(garden, settings, store, clock, ask, WrongTokens(), Once())
    return app


@asynccontextmanager
async def _life(_app: Starlette) -> AsyncIterator[None]:
    current_default_thread_limiter().total_tokens = MOST_AT_ONCE
    yield
