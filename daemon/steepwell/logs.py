"""How the log reads: one line an event, with its priority for the journal, repeats left out."""

from __future__ import annotations

import logging
import os
import sys
import time
import traceback
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

# Set by systemd where standard error goes to its journal (systemd.exec(5)).
JOURNAL_STREAM = "JOURNAL_STREAM"
# The same complaint is made so often in a while, and then counted only.
OFTEN, WHILE_S = 10, 600.0
MOST_KINDS = 500
# syslog(3): 2 critical, 3 error, 4 warning, 6 informational, 7 debug.
_PRIORITIES = (
    (logging.CRITICAL, 2),
    (logging.ERROR, 3),
    (logging.WARNING, 4),
    (logging.INFO, 6),
    (logging.NOTSET, 7),
)


def begin_log(environment: Mapping[str, str] = os.environ) -> None:
    """Have what is worth telling written to standard error.

    Parameters
    ----------
    environment
        Tells whether the journal reads it, which has the time and wants the priority.
    """
    handler = logging.StreamHandler(sys.stderr)
    handler.setFormatter(OneLine(for_journal=JOURNAL_STREAM in environment))
    handler.addFilter(NotAgain())
    logging.basicConfig(level=logging.WARNING, handlers=[handler])
    logging.getLogger("steepwell").setLevel(logging.INFO)


class OneLine(logging.Formatter):
    """Writes an event, where it went wrong included, on one line.

    Parameters
    ----------
    for_journal
        Whether the line begins with its priority (sd-daemon(3)) instead of time and level.
    """

    def __init__(self, *, for_journal: bool) -> None:
        super().__init__("%(message)s" if for_journal else "%(asctime)s %(levelname)s %(message)s")
        self._for_journal = for_journal

    def format(self, record: logging.LogRecord) -> str:
        """Return the line."""
        line = " ".join(super().format(record).split("\n"))
        if not self._for_journal:
            return line
        priority = next(number for level, number in _PRIORITIES if record.levelno >= level)
        return f"<{priority}>{line}"

    def formatException(self, ei: object) -> str:  # noqa: N802 - the library's name
        """Return where an error came from, innermost last."""
        if not isinstance(ei, tuple) or ei[1] is None:
            return ""
        frames = traceback.extract_tb(ei[2])
        places = [f"{frame.filename}:{frame.lineno} {frame.name}" for frame in frames]
        return " | ".join(["", *places, f"{type(ei[1]).__name__}: {ei[1]}"])


class NotAgain(logging.Filter):
    """Lets the same kind of message pass ten times in ten minutes, and counts the others.

    Parameters
    ----------
    running_s
        Tells how much time has passed [s].
    """

    def __init__(self, running_s: Callable[[], float] = time.monotonic) -> None:
        super().__init__()
        self._running_s = running_s
        self._said: dict[tuple[str, int, str], list[float]] = {}
        self._left_out: dict[tuple[str, int, str], int] = {}

    def filter(self, record: logging.LogRecord) -> bool:
        """Return whether to write a message; the first after a silence tells how many it was."""
        now_s = self._running_s()
        key = (record.name, record.levelno, str(record.msg))
        if key not in self._said and len(self._said) >= MOST_KINDS:
            self._said.clear()
            self._left_out.clear()
        said = [at_s for at_s in self._said.get(key, []) if now_s - at_s < WHILE_S]
        self._said[key] = said
        if len(said) >= OFTEN:
            self._left_out[key] = self._left_out.get(key, 0) + 1
            return False
        said.append(now_s)
        if left_out := self._left_out.pop(key, 0):
            record.msg = f"{record.getMessage()} (and {left_out} times more, not written)"
            record.args = None
        return True
