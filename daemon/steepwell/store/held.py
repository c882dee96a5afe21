"""The mark beside a store in use: who may not touch it, and whether it was left in order."""

from __future__ import annotations

import fcntl
import os
from typing import TYPE_CHECKING

from steepwell.errors import StoreError

if TYPE_CHECKING:
    from pathlib import Path


class Held:
    """Holds a store for one process; the mark stays behind if that ends without letting go.

    Parameters
    ----------
    file
        The store.

    Raises
    ------
    StoreError
        If another process holds it, or the mark cannot be written.
    """

    def __init__(self, file: Path) -> None:
        self._mark = file.with_name(f"{file.name}.in-use")
        try:
            self._opened = os.open(self._mark, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o644)
        except OSError as error:
            raise StoreError(
                f"the store {file} cannot be opened ({error}); see that its folder exists and can "
                "be written"
            ) from error
        try:
            fcntl.flock(self._opened, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            os.close(self._opened)
            raise StoreError(
                f"the store {file} is in use by another process; stop that first"
            ) from None
        self.was_left_in_disorder = os.fstat(self._opened).st_size > 0
        """Whether the last process that held it ended without letting go."""

    def begin(self) -> None:
        """Leave the mark that says, until ``let_go``, that the store is written to."""
        os.pwrite(self._opened, b"in use\n", 0)
        os.fsync(self._opened)

    def let_go(self, *, in_order: bool = True) -> None:
        """Free the store, and take the mark away if it is in order."""
        if in_order:
            self._mark.unlink(missing_ok=True)
        os.close(self._opened)
