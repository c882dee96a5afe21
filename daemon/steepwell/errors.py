"""The one tree of exceptions.

::

    SteepwellError
    ├── CommandError           the command line is wrong                      exit 2
    ├── GardenFileError        the garden file has faults, all of them listed exit 2
    ├── WeatherRecordError     the daily record cannot be used                exit 2
    ├── JournalError           a journal entry is refused                     exit 1
    ├── SecretError            a password or token cannot be read             exit 1
    ├── MessageRefusedError    a sensor message cannot be understood
    ├── StoreError             the store cannot be opened or written          exit 1
    ├── BrokerError            the broker cannot be reached                   exit 1
    ├── DeliveryError          a mail could not be handed over (tried again)
    ├── MirrorError            the mirror's server took nothing (tried again)
    ├── PageError              the page cannot be served
    └── WorkerError            heavy work failed or ran out of time

Each message is one sentence that says what is so and what to do.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import timedelta


class SteepwellError(Exception):
    """Root of everything this program raises on purpose."""

    exit_code = 1


class CommandError(SteepwellError):
    """The command line asks for something that cannot be."""

    exit_code = 2


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault in the garden file.

    Attributes
    ----------
    where
        Key path, as written in the file: ``butt[2].overflow_to``.
    line
        Line in the file where a plain scan finds it, or None.
    found
        What stands there.
    wanted
        What should stand there.
    """

    where: str
    line: int | None
    found: str
    wanted: str

    def __str__(self) -> str:
        """Return the fault as one line for a person."""
        at = f"line {self.line}: " if self.line is not None else ""
        return f"{at}{self.where}: found {self.found}; wanted: {self.wanted}"


class GardenFileError(SteepwellError):
    """The garden file has faults; all of them are listed."""

    exit_code = 2

    def __init__(self, path: str, faults: list[Fault]) -> None:
        self.path = path
        self.faults = faults
        count = "1 fault" if len(faults) == 1 else f"{len(faults)} faults"
        super().__init__("\n".join([f"{path}: {count}", *(f"  {fault}" for fault in faults)]))


class WeatherRecordError(SteepwellError):
    """The daily weather record cannot be used."""

    exit_code = 2


class JournalError(SteepwellError):
    """A journal entry is refused."""


class SecretError(SteepwellError):
    """A password or token that the garden file names cannot be read."""


class MessageRefusedError(SteepwellError):
    """A sensor message cannot be understood; it is kept with this reason."""


class StoreError(SteepwellError):
    """The store cannot be opened or written."""


class BrokerError(SteepwellError):
    """The broker cannot be reached."""


class DeliveryError(SteepwellError):
    """A mail could not be handed over; it stays in the outbox and is tried again."""


class MirrorError(SteepwellError):
    """The mirror's server took nothing; what is to be sent stays and is tried again."""

    def __init__(
        self, message: str, *, lasting: bool = False, retry_after: timedelta | None = None
    ) -> None:
        self.lasting = lasting
        self.retry_after = retry_after
        super().__init__(message)


class PageError(SteepwellError):
    """The page cannot be served."""


class LinkError(SteepwellError):
    """An address in a letter or a calendar is not ours, or too old."""


class WorkerError(SteepwellError):
    """Heavy work failed or ran out of time."""
