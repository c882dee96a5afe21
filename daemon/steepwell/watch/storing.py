"""Rules about the store: it was damaged and goes on from a backup, or its disk fills."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

from steepwell.watch.finding import Finding
from steepwell.watch.kinds import STORE_FULL, STORE_RESTORED

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.garden.garden import Garden
    from steepwell.store.notices import StandingNotice
    from steepwell.store.size import Size

# So long the keeper is reminded, in the letter and on screen, that something is missing.
REMEMBERED = timedelta(days=14)

# Told with half a year of room, over with three quarters; told too when next to nothing is left.
LEFT_MONTHS, ENOUGH_MONTHS = 6, 9
LEFT_BYTES, ENOUGH_BYTES = 100_000_000, 200_000_000

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


def store_full(size: Size, standing: Sequence[StandingNotice]) -> list[Finding]:
    """Find out whether the disk of the store will be full before long.

    Parameters
    ----------
    size
        How the store stands.
    standing
        The notices that stand; one that was told is over only with more room.

    Returns
    -------
    list of Finding
        One, or none.
    """
    told = any(notice.kind == STORE_FULL for notice in standing)
    months, least = (ENOUGH_MONTHS, ENOUGH_BYTES) if told else (LEFT_MONTHS, LEFT_BYTES)
    if size.free is None or (size.months_left >= months and size.free >= least):
        return []
    left = f"{size.months_left:.0f} months" if size.months_left >= 1 else "less than a month"
    return [
        Finding(
            kind=STORE_FULL,
            subject="store",
            urgency="Future" if size.months_left >= 1 else "Expected",
            severity="Moderate",
            certainty="Likely",
            headline="The disk of the store fills",
            text=(
                f"{size.free / 1e6:,.0f} MB are free, and the store grows by about "
                f"{size.a_year / 1e6:,.0f} MB a year: room for {left}. Make room, or move backups "
                f"to another disk with [store] backups. This is over with {ENOUGH_MONTHS} months "
                f"of room and {ENOUGH_BYTES / 1e6:.0f} MB."
            ),
            figures={"free_mb": round(size.free / 1e6), "a_year_mb": round(size.a_year / 1e6, 1)},
        )
    ]
