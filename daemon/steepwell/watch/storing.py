"""Rules about the store: it was damaged and goes on from a backup, or its disk fills."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

from steepwell.watch.finding import Finding
from steepwell.watch.kinds import STORE_FULL, STORE_RESTORED
from steepwell.words.figures import day
from steepwell.words.saying import say, say_count

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
        lost = say("storing.no-backup", last=_when(last))
    else:
        first = datetime.fromisoformat(mended["lost_from"]).astimezone(zone)
        lost = say("storing.from-backup", first=_when(first), last=_when(last))
    again = say("storing.note-anew", file=mended["kept_as"], why=mended["found"])
    return [
        Finding(
            kind=STORE_RESTORED,
            subject="store",
            urgency="Past",
            severity="Moderate",
            certainty="Observed",
            headline=say("storing.damaged"),
            text=f"{lost} {again}",
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
    if size.months_left >= 1:
        left = say_count("storing.months", round(size.months_left))
    else:
        left = say("storing.less-than-a-month")
    return [
        Finding(
            kind=STORE_FULL,
            subject="store",
            urgency="Future" if size.months_left >= 1 else "Expected",
            severity="Moderate",
            certainty="Likely",
            headline=say("storing.fills"),
            text=say(
                "storing.make-room",
                free=f"{size.free / 1e6:,.0f}",
                a_year=f"{size.a_year / 1e6:,.0f}",
                left=left,
                enough=ENOUGH_MONTHS,
                enough_mb=f"{ENOUGH_BYTES / 1e6:.0f}",
            ),
            figures={"free_mb": round(size.free / 1e6), "a_year_mb": round(size.a_year / 1e6, 1)},
        )
    ]


def _when(moment: datetime) -> str:
    return say("storing.when", day=day(moment), year=moment.year, time=f"{moment:%H:%M}")
