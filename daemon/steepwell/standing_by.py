"""Shows that a daemon looks after a store, and finds the one that does."""

from __future__ import annotations

import contextlib
import fcntl
import json
import os
import signal
from pathlib import Path
from typing import TYPE_CHECKING, Any, Self

from steepwell.errors import CommandError, SteepwellError
from steepwell.garden.load import load_garden

if TYPE_CHECKING:
    from types import TracebackType

    from steepwell.garden.garden import Garden


Json = dict[str, Any]
LONGEST = 4096


class Presence:
    """A locked file that holds the number of our process and how it is, for as long as we run.

    The lock goes with the process however it ends, so that a file left behind means nothing.

    Parameters
    ----------
    garden
        The garden.
    """

    def __init__(self, garden: Garden) -> None:
        self._path = presence_file(garden)
        self._file = -1

    def __enter__(self) -> Self:
        try:
            self._file = os.open(self._path, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o644)
        except OSError as error:
            raise SteepwellError(
                f"{self._path} cannot be written ({error.strerror}); see that the folder of the "
                "store exists and can be written"
            ) from None
        try:
            fcntl.flock(self._file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            os.close(self._file)
            raise SteepwellError(
                f"another daemon looks after this garden already (see {self._path}); stop it first"
            ) from None
        self.beat({})
        return self

    def beat(self, pulse: Json) -> None:
        """Write down how we are, beside our number; where that cannot be, what was said stands."""
        said = json.dumps({"process": os.getpid(), **pulse}).encode()
        with contextlib.suppress(OSError):
            os.pwrite(self._file, said, 0)
            os.ftruncate(self._file, len(said))

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        traceback: TracebackType | None,
    ) -> None:
        with contextlib.suppress(OSError):
            os.ftruncate(self._file, 0)
        os.close(self._file)


def presence_file(garden: Garden) -> Path:
    """Return the file that shows whether a daemon is there: beside the store, if it is a file."""
    prefix, name = "sqlite:///", f"{garden.name}.run"
    if garden.store.url.startswith(prefix):
        return garden.path(Path(garden.store.url.removeprefix(prefix))).with_suffix(".run")
    return garden.folder / name


def running_daemon(garden: Garden) -> int | None:
    """Return the process that looks after a garden, None if there is none."""
    pulse = last_pulse(garden)
    return None if pulse is None else int(pulse["process"])


def last_pulse(garden: Garden) -> Json | None:
    """Return how the daemon of a garden said it is, None if none runs."""
    try:
        file = os.open(presence_file(garden), os.O_RDONLY | os.O_CLOEXEC)
    except OSError:
        return None
    try:
        fcntl.flock(file, fcntl.LOCK_SH | fcntl.LOCK_NB)
    except OSError:
        return _said(os.read(file, LONGEST))
    else:
        return None
    finally:
        os.close(file)


def _said(written: bytes) -> Json | None:
    try:
        said = json.loads(written)
    except ValueError:
        return None
    return said if isinstance(said, dict) and "process" in said else None


def have_reloaded(path: Path) -> str:
    """Have the daemon read the garden file anew, and return what was done as a sentence.

    Parameters
    ----------
    path
        The garden file.

    Raises
    ------
    GardenFileError
        If the file has faults; the daemon is not even asked.
    CommandError
        If there is no daemon, or it is not ours to ask.
    """
    garden = load_garden(path)
    process = running_daemon(garden)
    if process is None:
        raise CommandError(f"no daemon looks after {garden.name}; start it with steepwell run")
    try:
        os.kill(process, signal.SIGHUP)
    except PermissionError:
        raise CommandError(
            f"process {process} belongs to another user; try systemctl reload steepwell"
        ) from None
    return f"{path} has no faults; process {process} reads it anew."
