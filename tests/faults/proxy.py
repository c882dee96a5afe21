"""A bad network on the loopback: passes bytes on between a client and a server, late or not."""

from __future__ import annotations

import asyncio
import threading
from contextlib import suppress
from typing import TYPE_CHECKING, Any, Protocol, TypeVar

from tests.servers import free_port

if TYPE_CHECKING:
    from collections.abc import Coroutine

LOT_BYTES = 65_536
_T = TypeVar("_T")


class Witness(Protocol):
    """Hears what goes by."""

    def up(self, connection: int, data: bytes) -> None:
        """Take note of bytes from the client."""

    def down(self, connection: int, data: bytes) -> None:
        """Take note of bytes from the server."""


class Proxy:
    """Listens on a port of its own, and passes on to another one of this machine.

    Attributes
    ----------
    port
        Where it listens.
    delay_s
        How long every piece is kept back [s].
    swallows
        Whether what comes is dropped without a word, as a dead radio link does.
    refuses
        Whether new connections are closed at once.
    connections
        How many there were.
    """

    def __init__(self, target: int, witness: Witness | None = None) -> None:
        self.port = free_port()
        self.delay_s = 0.0
        self.swallows = self.refuses = False
        self.connections = 0
        self._target = target
        self._witness = witness
        self._open: set[asyncio.StreamWriter] = set()
        self._tasks: set[asyncio.Task[None]] = set()
        self._loop = asyncio.new_event_loop()
        self._thread = threading.Thread(target=self._loop.run_forever)
        self._thread.start()
        self._server = self._do(asyncio.start_server(self._serve, "127.0.0.1", self.port))

    def cut(self) -> None:
        """Break every connection, in the middle of whatever is being said."""
        self._do(self._cut())

    def close(self) -> None:
        """Break every connection and end."""
        self._do(self._end())
        self._loop.call_soon_threadsafe(self._loop.stop)
        self._thread.join()
        self._loop.close()

    def _do(self, work: Coroutine[Any, Any, _T]) -> _T:
        return asyncio.run_coroutine_threadsafe(work, self._loop).result(30)

    async def _cut(self) -> None:
        for writer in list(self._open):
            writer.transport.abort()

    async def _end(self) -> None:
        self._server.close()
        await self._cut()
        for task in list(self._tasks):
            task.cancel()
        await asyncio.gather(*self._tasks, return_exceptions=True)

    async def _serve(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        self.connections += 1
        if self.refuses:
            writer.transport.abort()
            return
        try:
            back_reader, back_writer = await asyncio.open_connection("127.0.0.1", self._target)
        except OSError:
            writer.transport.abort()
            return
        number = self.connections
        self._open |= {writer, back_writer}
        for here, there, is_up in ((reader, back_writer, True), (back_reader, writer, False)):
            task = asyncio.ensure_future(self._pass(here, there, number, is_up=is_up))
            self._tasks.add(task)
            task.add_done_callback(self._tasks.discard)

    async def _pass(
        self,
        reader: asyncio.StreamReader,
        writer: asyncio.StreamWriter,
        number: int,
        *,
        is_up: bool,
    ) -> None:
        with suppress(OSError):
            while data := await reader.read(LOT_BYTES):
                if self.swallows:
                    continue
                if self.delay_s:
                    await asyncio.sleep(self.delay_s)
                if self._witness is not None:
                    (self._witness.up if is_up else self._witness.down)(number, data)
                writer.write(data)
                await writer.drain()
        self._open.discard(writer)
        writer.transport.abort()
