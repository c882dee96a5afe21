"""Days as the garden has them; without NumPy, for the daemon goes by them too."""

from __future__ import annotations

from datetime import UTC, date, datetime, time
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden


def midnight(garden: Garden, day: date) -> datetime:
    """Return the beginning of a local day in UTC."""
    return datetime.combine(day, time(), garden.garden.zone).astimezone(UTC)


def local_day(garden: Garden, moment: datetime) -> date:
    """Return the local day of a moment."""
    return moment.astimezone(garden.garden.zone).date()
