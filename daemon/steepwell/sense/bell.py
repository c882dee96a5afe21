"""A bell that wakes a thread out of its wait for the network."""

from __future__ import annotations

import socket


class Bell:
    """Has a file descriptor, so that it can be waited for together with a connection."""

    def __init__(self) -> None:
        self._heard, self._rung = socket.socketpair()
        self._heard.settimeout(0)
        self._rung.settimeout(0)

    def fileno(self) -> int:
        """Return what to wait for."""
        return self._heard.fileno()

    def ring(self) -> None:
        """Wake the thread; more rings before it wakes are one."""
        try:
            self._rung.send(b"\0")
        except BlockingIOError:
            return

    def hush(self) -> None:
        """Be ready to wait again."""
        try:
            self._heard.recv(4096)
        except BlockingIOError:
            return

    def close(self) -> None:
        """Give the descriptors back."""
        self._heard.close()
        self._rung.close()
