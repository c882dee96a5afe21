"""The command ``steepwell run``: from start to stop, with a garden file that may change."""

from __future__ import annotations

import faulthandler
import logging
import math
import signal
import threading
from typing import TYPE_CHECKING

from steepwell.app import Daemon
from steepwell.errors import GardenFileError, SteepwellError
from steepwell.garden.load import load_garden
from steepwell.memory import hand_back, share_one_arena
from steepwell.standing_by import Presence

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from steepwell.clock import Clock
    from steepwell.garden.garden import Garden
    from steepwell.service import Service

log = logging.getLogger("steepwell")

LOOKS_UP_AFTER_S = 1.0
# A broker that is away is no reason not to run.
LOOKS_FOR_BROKER = 10
BEATS_EVERY_S = 60.0


def run(path: Path, clock: Clock, service: Service, started: Callable[[Garden], None]) -> None:
    """Look after a garden until a signal ends it.

    SIGHUP has the garden file read anew; one with faults is refused whole, and the garden goes on
    as it was.

    Parameters
    ----------
    path
        The garden file.
    clock
        Tells the time.
    service
        The service manager.
    started
        Called once, when the garden is being looked after.

    Raises
    ------
    SteepwellError
        If the garden cannot be looked after at all.
    """
    share_one_arena()
    # The signal of a watchdog has every thread say where it stands.
    faulthandler.enable()
    try:
        _look_after(path, clock, service, started)
    except SteepwellError as error:
        service.failed(str(error))
        raise


def _look_after(
    path: Path, clock: Clock, service: Service, started: Callable[[Garden], None]
) -> None:
    stopped, asked = threading.Event(), threading.Event()
    for name in (signal.SIGTERM, signal.SIGINT):
        signal.signal(name, lambda *_: stopped.set())
    signal.signal(signal.SIGHUP, lambda *_: asked.set())
    garden = load_garden(path)
    with Presence(garden) as presence:
        daemon = _begun(garden, clock)
        started(garden)
        _await_broker(daemon, stopped)
        log.info("looking after %s", garden.name)
        service.ready(f"looking after {garden.name}")
        beaten_s, hung = -math.inf, None
        # A signal that comes just before a wait begins does not end it.
        while not stopped.wait(LOOKS_UP_AFTER_S):
            if asked.is_set():
                asked.clear()
                service.reloading()
                daemon, garden = _reloaded(path, daemon, garden, clock)
                service.ready(f"looking after {garden.name}")
            daemon.glance()
            if clock.running_s() - beaten_s >= BEATS_EVERY_S:
                beaten_s = clock.running_s()
                presence.beat(daemon.pulse())
                hand_back()
            hung = _tell_alive(daemon, service, hung)
        service.stopping()
        daemon.stop()


def _begun(garden: Garden, clock: Clock) -> Daemon:
    daemon = Daemon(garden, clock)
    daemon.start()
    daemon.serve()
    return daemon


def _await_broker(daemon: Daemon, stopped: threading.Event) -> None:
    for _ in range(LOOKS_FOR_BROKER):
        if stopped.is_set() or daemon.wait_connected(LOOKS_UP_AFTER_S):
            return


def _tell_alive(daemon: Daemon, service: Service, hung: str | None) -> str | None:
    """Tell the service manager that we are alive unless a part hangs; return which part does."""
    hangs = daemon.hangs()
    if hangs is None:
        service.is_alive()
    elif hangs != hung:
        log.error("%s hangs; a service manager with a watchdog kills us and starts us anew", hangs)
    return hangs


def _reloaded(path: Path, daemon: Daemon, garden: Garden, clock: Clock) -> tuple[Daemon, Garden]:
    """Return the daemon of the file as it is now, or the old one if that cannot be."""
    try:
        changed = load_garden(path)
    except GardenFileError as error:
        _refuse(daemon, path, error)
        return daemon, garden
    if (changed.name, changed.store) != (garden.name, garden.store):
        why = "the garden's name and its store change only by a restart"
        _refuse(daemon, path, SteepwellError(f"{path}: {why}"))
        return daemon, garden
    daemon.stop()
    try:
        begun = _begun(changed, clock)
    except SteepwellError as error:
        begun = _begun(garden, clock)
        _refuse(begun, path, error)
        return begun, garden
    begun.garden_file_read(None)
    log.info("%s was read anew", path)
    return begun, changed


def _refuse(daemon: Daemon, path: Path, error: SteepwellError) -> None:
    log.error("%s; the garden goes on as it was", " ".join(str(error).split()))
    daemon.garden_file_read(f"{path.name}: {error}")
