"""The rule about water that nobody noted: what is taken to have been a watering."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from steepwell.garden.days import local_day
from steepwell.outlook.falling import guessed_waterings
from steepwell.watch.finding import Finding
from steepwell.watch.kinds import DRAW_OFF
from steepwell.words.figures import day, listed
from steepwell.words.saying import say, say_count

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
    shared = listed([say("drawoffs.bed", bed=bed, litres=f"{beds[bed]:.0f}") for bed in most])
    when = say_count("drawoffs.when", len(days), last=day(days[-1]))
    return Finding(
        kind=DRAW_OFF,
        subject=butt,
        urgency="Past",
        severity="Minor",
        certainty="Possible",
        headline=say("drawoffs.unnoted", litres=f"{litres:.0f}", butt=butt, when=when),
        text=say(
            "drawoffs.counts-and-others" if len(beds) > len(most) else "drawoffs.counts",
            beds=shared,
            time=f"{last:%H:%M}",
            day=day(days[-1]),
        ),
        figures={
            "litres": round(litres, 1),
            "days": [each.isoformat() for each in days],
            "beds_l": {bed: round(amount, 1) for bed, amount in beds.items()},
        },
    )
