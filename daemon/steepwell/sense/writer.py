"""The writer thread: takes what has come, has it written, then acknowledges it in order."""

from __future__ import annotations

import logging
import threading
import time
from typing import TYPE_CHECKING

from steepwell.errors import StoreError

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from steepwell.sense.inbox import Heard, Inbox
    from steepwell.sense.settle import Settler

log = logging.getLogger(__name__)

TRY_AGAIN_AFTER_S = 5.0
# When batch after batch brings many messages, a short wait makes them fewer and larger: each costs
# a wait for the disk.
MANY = 24
BUSY_AFTER = 2
PATIENCE_S = 0.03
# A batch that takes longer than that, with its acknowledgement, does not come back.
LONGEST_S = 300.0


class Writer:
    """Settles messages and acknowledges them after the commit, never before.

    Parameters
    ----------
    inbox
        Where they come from.
    settler
        What writes them.
    acknowledge
        Called with messages that are settled, in the order they came.
    """

    def __init__(
        self,
        inbox: Inbox,
        settler: Settler,
        acknowledge: Callable[[Sequence[Heard]], None],
    ) -> None:
        self._inbox = inbox
        self._settler = settler
        self._acknowledge = acknowledge
        self._giving_up = threading.Event()
        self._thread = threading.Thread(target=self._run, name="steepwell-writer", daemon=True)
        self._progress = threading.Condition()
        self._busy_since_s: float | None = None
        self.settled = 0
        self.trouble: str | None = None

    def start(self) -> None:
        """Start the thread."""
        self._thread.start()

    def finish(self) -> None:
        """Settle what is in the closed inbox and end; what cannot be written comes again."""
        self._giving_up.set()
        self._thread.join()

    def alive(self, longest_s: float = LONGEST_S) -> bool:
        """Return whether the thread runs and does not hang in one batch."""
        since_s = self._busy_since_s
        hangs = since_s is not None and time.monotonic() - since_s > longest_s
        return self._thread.is_alive() and not hangs

    def wait_settled(self, count: int, timeout_s: float) -> bool:
        """Wait until at least ``count`` messages are settled; return whether they were in time."""
        with self._progress:
            return self._progress.wait_for(lambda: self.settled >= count, timeout_s)

    def _run(self) -> None:
        busy = 0
        while messages := self._inbox.take(PATIENCE_S if busy >= BUSY_AFTER else 0.0):
            busy = busy + 1 if len(messages) >= MANY else 0
            if not self._settle(messages):
                return
            self._acknowledge(messages)
            self._busy_since_s = None
            with self._progress:
                self.settled += len(messages)
                self._progress.notify_all()

    def _settle(self, messages: list[Heard]) -> bool:
        """Write messages, however long it takes; give up only when told to end."""
        while True:
            self._busy_since_s = time.monotonic()
            try:
                self._settler.settle(messages)
            except StoreError as error:
                self._busy_since_s = None
                if self.trouble is None:
                    log.error("%s; messages wait with the broker meanwhile", error)  # noqa: TRY400 - one sentence, no traceback
                self.trouble = str(error)
                if self._giving_up.wait(TRY_AGAIN_AFTER_S):
                    return False
            else:
                if self.trouble is not None:
                    log.info("the store can be written again")
                self.trouble = None
                return True
