"""The mark beside a store that is written to; it stays behind when that did not end in order."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

from steepwell.errors import StoreError

if TYPE_CHECKING:
    from pathlib import Path


class Mark:
    """An empty file beside the store, from the time it is opened until it is closed in order.

    Parameters
    ----------
    file
        The store.
    """

    def __init__(self, file: Path) -> None:
        self._path = file.with_name(f"{file.name}.in-use")

    def is_there(self) -> bool:
        """Return whether the last who wrote to the store did not close it in order."""
        return self._path.exists()

    def put(self) -> None:
        """Put the mark, and have it on the disk before anything is written.

        Raises
        ------
        StoreError
            If it cannot be.
        """
        try:
            for path, flags in (
                (self._path, os.O_WRONLY | os.O_CREAT),
                (self._path.parent, os.O_RDONLY),
            ):
                opened = os.open(path, flags | os.O_CLOEXEC, 0o644)
                try:
                    os.fsync(opened)
                finally:
                    os.close(opened)
        except OSError as error:
            raise StoreError(
                f"{self._path} cannot be written ({error.strerror}); see that the folder of the "
                "store exists and can be written"
            ) from error

    def take_away(self) -> None:
        """Take the mark away."""
        self._path.unlink(missing_ok=True)
