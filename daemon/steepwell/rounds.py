"""Goes round once a minute by the time that has passed, whatever the clock on the wall does."""

from __future__ import annotations

import logging
import threading
import time
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

log = logging.getLogger(__name__)

EVERY_S = 60.0
# A morning after a long absence fetches, works out, writes letters and delivers them.
LONGEST_ROUND_S = 1200.0


class Rounds:
    """A thread that does its work now, and every minute after that.

    Parameters
    ----------
    work
        What is done in each round; what it raises is noted and does not end the rounds.
    every_s
        From one beginning to the next [s].
    """

    def __init__(self, work: Callable[[], object], every_s: float = EVERY_S) -> None:
        self._work = work
        self._every_s = every_s
        self._ending = False
        self._bell = threading.Event()
        self._begun_s = time.monotonic()
        self._thread = threading.Thread(target=self._run, name="steepwell-rounds", daemon=True)

    def start(self) -> None:
        """Begin the first round."""
        self._thread.start()

    def stop(self) -> None:
        """End when the present round is over."""
        self._ending = True
        self._bell.set()
        if self._thread.is_alive():
            self._thread.join()

    def hurry(self) -> None:
        """Begin the next round at once."""
        self._bell.set()

    def alive(self) -> bool:
        """Return whether rounds go on, or one has been under way for no longer than it may."""
        late_s = time.monotonic() - self._begun_s
        return self._thread.is_alive() and late_s < self._every_s + LONGEST_ROUND_S

    def _run(self) -> None:
        while not self._ending:
            self._bell.clear()
            self._begun_s = time.monotonic()
            try:
                self._work()
            except Exception:  # whatever went wrong, the next round may go well
                log.exception("a round broke off; the next one is in %g s", self._every_s)
            self._bell.wait(max(0.0, self._begun_s + self._every_s - time.monotonic()))
