"""Serves the page from a thread of the daemon."""

from __future__ import annotations

import asyncio
import contextlib
import logging
import socket
import threading
from typing import TYPE_CHECKING

import uvicorn

from steepwell.errors import PageError

if TYPE_CHECKING:
    from starlette.applications import Starlette

    from steepwell.garden.site import Page

STARTS_WITHIN_S = 10.0
IDLE_S = 10
FINISHES_WITHIN_S = 2
MOST_CONNECTIONS = 64
TICKS_EVERY_S = 1.0

_LOG = logging.getLogger(__name__)


class PageServer:
    """A web server for one page.

    Parameters
    ----------
    app
        The page.
    settings
        Where it listens.
    """

    def __init__(self, app: Starlette, settings: Page) -> None:
        self._settings = settings
        self._server = _Server(
            uvicorn.Config(
                app,
                http="h11",
                ws="none",
                loop="asyncio",
                lifespan="on",
                log_config=None,
                access_log=False,
                server_header=False,
                # Whom a proxy says that it speaks for is not to be believed: we ask for a token.
                proxy_headers=False,
                limit_concurrency=MOST_CONNECTIONS,
                timeout_keep_alive=IDLE_S,
                timeout_graceful_shutdown=FINISHES_WITHIN_S,
            )
        )
        self._thread: threading.Thread | None = None
        self._socket: socket.socket | None = None

    @property
    def port(self) -> int:
        """The port it listens on, 0 before the start."""
        return int(self._socket.getsockname()[1]) if self._socket is not None else 0

    def start(self) -> None:
        """Begin to answer.

        Raises
        ------
        PageError
            If the port is taken, or the host is not this machine's.
        """
        where = (self._settings.host, self._settings.port)
        family = socket.AF_INET6 if ":" in self._settings.host else socket.AF_INET
        try:
            self._socket = socket.create_server(where, family=family)
        except OSError as error:
            raise PageError(
                f"the page cannot listen on {where[0]} port {where[1]} ({error.strerror}); see "
                "whether another program has that port, or give another under [page]"
            ) from error
        self._thread = threading.Thread(target=self._run, args=(self._socket,), name="page")
        self._thread.start()
        self._server.ready.wait(STARTS_WITHIN_S)
        if not self._server.started:
            self.stop()
            raise PageError("the page did not start; its log says why")

    def stop(self) -> None:
        """Finish what is being answered and end."""
        self._server.leave()
        if self._thread is not None:
            self._thread.join()
        if self._socket is not None:
            self._socket.close()

    def _run(self, listening: socket.socket) -> None:
        try:
            self._server.run(sockets=[listening])
        except Exception:  # noqa: BLE001 - whatever it was, it is to be read in the log
            _LOG.exception("the page ended")
        finally:
            self._server.ready.set()


class _Server(uvicorn.Server):
    """A server that says when it listens, and that rests while nobody asks."""

    def __init__(self, config: uvicorn.Config) -> None:
        super().__init__(config)
        self.ready = threading.Event()
        self._loop: asyncio.AbstractEventLoop | None = None
        self._leaving = asyncio.Event()

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        self._loop = asyncio.get_running_loop()
        await super().startup(sockets)
        self.ready.set()

    async def main_loop(self) -> None:
        """Set the date of the answers once a second, until told to leave.

        Looking up ten times a second was two thirds of what a daemon at rest had a core for.
        """
        while not await self.on_tick(0):
            with contextlib.suppress(TimeoutError):
                await asyncio.wait_for(self._leaving.wait(), TICKS_EVERY_S)

    def leave(self) -> None:
        """End from any thread, at once even between two looks."""
        self.should_exit = True
        if self._loop is not None:
            with contextlib.suppress(RuntimeError):  # it has ended already
                self._loop.call_soon_threadsafe(self._leaving.set)
