"""The rule about water that nobody noted: what is taken to have been a watering."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from steepwell.outlook.falling import guessed_waterings
from steepwell.outlook.observed import local_day
from steepwell.watch.finding import Finding
from steepwell.watch.kinds import DRAW_OFF

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.store.entries import Watered
    from steepwell.watch.evidence import Evidence

# A letter comes once a week, and tells of every guess since the last.
TOLD_FOR = timedelta(days=7)
MOST_BEDS = 4


def draw_offs(evidence: Evidence) -> list[Finding]:
    """Find what was drawn of late without being noted.

    Parameters
    ----------
    evidence
        Levels and journal.

    Returns
    -------
    list of Finding
        One a butt; over a week after the last of it, or when it is noted what it was.
    """
    garden, now = evidence.garden, evidence.now
    guesses = guessed_waterings(garden, evidence.store, evidence.entries, now)
    of_butt: dict[str, list[Watered]] = {}
    for guess in guesses:
        if guess.butt is not None and now - guess.at <= TOLD_FOR:
            of_butt.setdefault(guess.butt, []).append(guess)
    return [_drawn_off(evidence, butt, guesses) for butt, guesses in of_butt.items()]


def _drawn_off(evidence: Evidence, butt: str, guesses: Sequence[Watered]) -> Finding:
    litres = sum(guess.litres for guess in guesses)
    last = max(guess.at for guess in guesses).astimezone(evidence.garden.garden.zone)
    days = sorted({local_day(evidence.garden, guess.at) for guess in guesses})
    beds: dict[str, float] = {}
    for guess in guesses:
        beds[guess.bed] = beds.get(guess.bed, 0.0) + guess.litres
    most = sorted(beds, key=lambda bed: -beds[bed])[:MOST_BEDS]
    shared = ", ".join(f"{bed} {beds[bed]:.0f} L" for bed in most)
    when = f"{days[-1]:%-d %B}" if len(days) == 1 else f"{len(days)} days to {days[-1]:%-d %B}"
    return Finding(
        kind=DRAW_OFF,
        subject=butt,
        urgency="Past",
        severity="Minor",
        certainty="Possible",
        headline=f"About {litres:.0f} L left butt {butt} unnoted ({when})",
        text=(
            f"It counts as a watering, shared out as the plan was: {shared}"
            f"{' and others' if len(beds) > len(most) else ''}. If it was another bed, note that "
            "watering with its day, and the guess gives way. If it was no watering: steepwell note "
            f"not-watered {butt} --at {last.isoformat(timespec='minutes')}"
        ),
        figures={
            "litres": round(litres, 1),
            "days": [day.isoformat() for day in days],
            "beds_l": {bed: round(amount, 1) for bed, amount in beds.items()},
        },
    )
