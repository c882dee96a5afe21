"""Rules about the store: it was damaged and goes on from a backup."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

from steepwell.watch.finding import Finding
from steepwell.watch.kinds import STORE_RESTORED

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden

# So long the keeper is reminded, in the letter and on screen, that something is missing.
REMEMBERED = timedelta(days=14)

_WHEN = "%-d %B %Y %H:%M"


def store_restored(garden: Garden, mended: dict[str, Any] | None, now: datetime) -> list[Finding]:
    """Tell that the store was damaged, what took its place, and what is not in it.

    Parameters
    ----------
    garden
        The garden, for its time zone.
    mended
        What was done last about a damaged store, None if it never was.
    now
        The moment.

    Returns
    -------
    list of Finding
        One for a fortnight.
    """
    if mended is None or now - datetime.fromisoformat(mended["mended"]) > REMEMBERED:
        return []
    zone = garden.garden.zone
    last = datetime.fromisoformat(mended["lost_to"]).astimezone(zone)
    if mended["lost_from"] is None:
        lost = f"There was no good backup: what was known up to {last:{_WHEN}} is not in it"
    else:
        first = datetime.fromisoformat(mended["lost_from"]).astimezone(zone)
        lost = (
            f"It goes on from the backup of {first:{_WHEN}}: what came from then to {last:{_WHEN}} "
            "is not in it"
        )
    return [
        Finding(
            kind=STORE_RESTORED,
            subject="store",
            urgency="Past",
            severity="Moderate",
            certainty="Observed",
            headline="The store was damaged",
            text=(
                f"{lost}, but for what devices and broker send again. Note anew what was done "
                f"meanwhile. The damaged file is kept as {mended['kept_as']} ({mended['found']}). "
                "Disks and cards that damage one file damage others: think of a new one."
            ),
            figures={"lost_from": mended["lost_from"], "lost_to": mended["lost_to"]},
        )
    ]
