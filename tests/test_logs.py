"""The log: one line an event, priorities for the journal, repeats left out."""

from __future__ import annotations

import logging
import subprocess
import sys

from steepwell.logs import NotAgain, OneLine

FAILS = """
import logging
from steepwell.logs import begin_log
begin_log()
log = logging.getLogger("steepwell.test")
log.info("all is %s", "well")
logging.getLogger("other").info("chatter")
try:
    raise ValueError("two\\nlines")
except ValueError:
    log.exception("it broke off")
for number in range(15):
    log.warning("again %d", number)
"""


def said(**environment: str) -> list[str]:
    told = subprocess.run(
        [sys.executable, "-c", FAILS],
        check=True,
        capture_output=True,
        text=True,
        env={"PYTHONPATH": ":".join(sys.path), **environment},
    )
    return told.stderr.splitlines()


# syslog(3): 3 is an error, 4 a warning, 6 informational.
def test_the_journal_gets_priorities_and_one_line_an_event() -> None:
    first, failure, *rest = said(JOURNAL_STREAM="8:1234")
    assert first == "<6>all is well"
    assert failure.startswith("<3>it broke off")
    assert failure.endswith("ValueError: two lines")
    assert "<string>:9 <module>" in failure
    assert rest == [f"<4>again {number}" for number in range(10)]


def test_a_terminal_gets_the_time() -> None:
    first, *_ = said()
    assert first.endswith(" INFO all is well")


def test_who_was_left_out_is_counted_when_it_is_said_again() -> None:
    time_s = [0.0]
    again = NotAgain(lambda: time_s[0])

    def record() -> logging.LogRecord:
        return logging.LogRecord("steepwell", logging.WARNING, "", 0, "no %s", ("broker",), None)

    assert [again.filter(record()) for _ in range(13)] == [True] * 10 + [False] * 3
    time_s[0] = 601.0
    later = record()
    assert again.filter(later)
    line = OneLine(for_journal=False).format(later)
    assert line.endswith("WARNING no broker (and 3 times more, not written)")
