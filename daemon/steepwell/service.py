"""Tells the service manager how the daemon is: ready, reloading, alive, stopping (sd_notify)."""

from __future__ import annotations

import os
import socket
import time
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

NOTIFY_SOCKET = "NOTIFY_SOCKET"
WATCHDOG_USEC, WATCHDOG_PID = "WATCHDOG_USEC", "WATCHDOG_PID"
MICROSECONDS = 1e6


class Service:
    """The service manager that started us, or nobody.

    Parameters
    ----------
    environment
        Where the manager says how to reach it.

    References
    ----------
    sd_notify(3): datagrams of ``VARIABLE=value`` lines to the socket in ``NOTIFY_SOCKET``, whose
    name begins with ``@`` where it is no file; sd_watchdog_enabled(3): ``WATCHDOG_USEC`` holds for
    the process in ``WATCHDOG_PID``, and half of it is a good interval.
    """

    def __init__(self, environment: Mapping[str, str] = os.environ) -> None:
        self._address = environment.get(NOTIFY_SOCKET, "").replace("@", "\0", 1)
        is_for_us = environment.get(WATCHDOG_PID, str(os.getpid())) == str(os.getpid())
        given = environment.get(WATCHDOG_USEC, "")
        self._every_s = int(given) / MICROSECONDS / 2 if is_for_us and given.isdecimal() else None
        self._last_s = -float("inf")

    def ready(self, status: str) -> None:
        """Say that we run."""
        self._say("READY=1", f"STATUS={status}")

    def reloading(self) -> None:
        """Say that the garden file is read anew; ``ready`` ends it."""
        self._say("RELOADING=1", f"MONOTONIC_USEC={time.monotonic_ns() // 1000}")

    def failed(self, why: str) -> None:
        """Say why we end, or do not even begin."""
        self._say(f"STATUS={' '.join(why.split())}")

    def stopping(self) -> None:
        """Say that we end."""
        self._say("STOPPING=1")

    def is_alive(self) -> None:
        """Say that we are alive, as often as the manager wants to hear it."""
        now_s = time.monotonic()
        if self._every_s is not None and now_s - self._last_s >= self._every_s:
            self._last_s = now_s
            self._say("WATCHDOG=1")

    def _say(self, *lines: str) -> None:
        if not self._address:
            return
        with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as link:
            try:
                link.sendto("\n".join(lines).encode(), self._address)
            except OSError:
                # A manager that cannot be told finds out by itself.
                return
