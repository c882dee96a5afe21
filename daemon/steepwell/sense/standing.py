"""How the connection to the broker stands, said in the log once for each change."""

from __future__ import annotations

import logging
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import datetime

    from steepwell.clock import Clock

log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class LinkState:
    """How the connection to the broker stands.

    Attributes
    ----------
    connected
        Whether we hear.
    since
        Since when that is so; None before the first try.
    last_error
        What was wrong last, or None.
    tries
        How often it was tried in vain since we last heard.
    """

    connected: bool
    since: datetime | None
    last_error: str | None
    tries: int


class Standing:
    """Keeps the state, and notes each change of it in the log.

    Parameters
    ----------
    clock
        Tells since when.
    where
        The broker's host and port.
    """

    def __init__(self, clock: Clock, where: str) -> None:
        self._clock = clock
        self._where = where
        self.state = LinkState(connected=False, since=None, last_error=None, tries=0)

    def heard(self) -> None:
        """Note that there is a connection."""
        self.state = LinkState(
            connected=True, since=self._clock.now(), last_error=self.state.last_error, tries=0
        )
        log.info("connected to the broker at %s", self._where)

    def lost(self, why: str) -> None:
        """Note that there is no connection, or still none."""
        before = self.state
        is_news = before.connected or before.since is None
        self.state = LinkState(
            connected=False,
            since=self._clock.now() if is_news else before.since,
            last_error=why,
            tries=0 if before.connected else before.tries + 1,
        )
        if is_news:
            log.warning(
                "no connection to the broker at %s: %s; it is tried again until there is one",
                self._where,
                why,
            )

    def ended(self) -> None:
        """Note that we hung up ourselves."""
        self.state = LinkState(
            connected=False, since=self._clock.now(), last_error=self.state.last_error, tries=0
        )
