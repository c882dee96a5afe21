"""What one job of the daemon came to."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from datetime import datetime

Json = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Done:
    """What one job came to.

    Attributes
    ----------
    job, period
        Which job, for the period that started then (UTC).
    outlook, plan
        The documents, None where the job makes none.
    notices
        What was raised, changed or cleared, ready for JSON.
    """

    job: str
    period: datetime
    outlook: Json | None = None
    plan: Json | None = None
    notices: list[Json] = field(default_factory=list)
