"""The beat of the daemon: what is due runs, and waits while the store takes nothing."""

from __future__ import annotations

import logging
from typing import TYPE_CHECKING

from steepwell.errors import StoreError

if TYPE_CHECKING:
    from collections.abc import Callable

_LOG = logging.getLogger(__name__)


class Beat:
    """Runs what is due; after the store took nothing, only once it takes something again.

    Without that, an outlook that cannot be kept would be worked out every minute for as long as
    the disk is full.

    Parameters
    ----------
    run_due
        Runs what is due.
    try_store
        Writes something small that changes nothing.
    """

    def __init__(self, run_due: Callable[[], object], try_store: Callable[[], None]) -> None:
        self._run_due = run_due
        self._try_store = try_store
        self._has_trouble = False

    def __call__(self) -> None:
        """Run what is due, if the store takes it."""
        try:
            if self._has_trouble:
                self._try_store()
                self._has_trouble = False
            self._run_due()
        except StoreError as error:
            if not self._has_trouble:
                _LOG.error("%s; what is due waits until then", error)
            self._has_trouble = True
