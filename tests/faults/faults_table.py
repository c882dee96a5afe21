"""A table of faults: what is broken, what is expected of the daemon then, and what was seen."""

from __future__ import annotations

import tempfile
import traceback
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence


class NotHereError(Exception):
    """A fault that this machine does not let us make; says why."""


class NotSeenError(Exception):
    """What had to come about did not in time; says what."""


@dataclass(frozen=True, slots=True)
class Seen:
    """What was seen, in words, and whether it is what was expected."""

    words: str
    is_expected: bool


@dataclass(frozen=True, slots=True)
class Fault:
    """One row.

    Attributes
    ----------
    what, expected
        What is broken, and what is expected then.
    live
        Breaks it, in an empty folder, and tells what was seen.
    """

    what: str
    expected: str
    live: Callable[[Path], Seen]


def print_faults(faults: Sequence[Fault]) -> int:
    """Print a row for each fault when it is over; return how many did not come out as expected."""
    print("| fault | expected | seen | |")  # noqa: T201 - the table
    print("|---|---|---|---|")  # noqa: T201 - the table
    missed = 0
    for fault in faults:
        with tempfile.TemporaryDirectory() as folder:
            try:
                seen = fault.live(Path(folder))
            except NotHereError as error:
                row = f"not tried: {error} | -"
            except NotSeenError as error:
                missed += 1
                row = f"waited in vain: {error} | **no** "
            except Exception as error:  # noqa: BLE001 - the other rows are worth having
                traceback.print_exc()
                missed += 1
                row = f"broke off: {type(error).__name__}: {error} | **no**"
            else:
                missed += not seen.is_expected
                row = f"{seen.words} | {'yes' if seen.is_expected else '**no**'}"
        print(f"| {fault.what} | {fault.expected} | {row} |", flush=True)  # noqa: T201 - the table
    return missed
