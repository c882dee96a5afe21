"""What every part of the page has at hand."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Protocol

if TYPE_CHECKING:
    from datetime import datetime

    from starlette.requests import Request

    from steepwell.clock import Clock
    from steepwell.garden.garden import Garden
    from steepwell.garden.site import Page
    from steepwell.page.gate import WrongTokens
    from steepwell.page.writing import Once
    from steepwell.store.store import Store

Json = dict[str, Any]


class Ask(Protocol):
    """Has a worker do what the daemon itself goes without NumPy for."""

    def __call__(self, task: str, now: datetime, **more: object) -> Json:
        """Return what a task of the worker gives."""
        ...


@dataclass(frozen=True, slots=True)
class Desk:
    """What every part of the page has at hand.

    Attributes
    ----------
    garden, settings
        The garden, and what it says of its page.
    store
        Where everything is; each request reads, and writes, in short transactions of its own.
    clock
        What tells the time.
    ask
        The worker.
    wrong_tokens
        Who tried to come in without an invitation.
    once
        Forms that were sent already.
    """

    garden: Garden
    settings: Page
    store: Store
    clock: Clock
    ask: Ask
    wrong_tokens: WrongTokens
    once: Once


def desk_of(request: Request) -> Desk:
    """Return what the page has at hand for a request."""
    desk: Desk = request.app.state.desk
    return desk
