"""The rule about sensors that are heard and not believed."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from steepwell.clock import to_ms
from steepwell.watch.finding import Finding
from steepwell.watch.kinds import DOUBTFUL
from steepwell.words.saying import say

if TYPE_CHECKING:
    from steepwell.watch.evidence import Evidence

OVER = timedelta(days=1)
# Part of a day's readings that is doubted or failed, to be told and to be over; and how many.
RAISED_AT, CLEARED_BELOW, LEAST = 0.3, 0.1, 3


def doubtful_sensors(evidence: Evidence) -> list[Finding]:
    """Find sensors of whose readings of the last day many are doubted or failed.

    Parameters
    ----------
    evidence
        The readings.

    Returns
    -------
    list of Finding
        One a sensor, with the reason that was given most often.
    """
    begin, now = to_ms(evidence.now - OVER), to_ms(evidence.now)
    stand = evidence.standing_of(DOUBTFUL)
    found = []
    for name, (count, doubted, why) in evidence.store.judged.doubted(begin, now).items():
        share = doubted / count
        if doubted >= LEAST and share >= (CLEARED_BELOW if name in stand else RAISED_AT):
            found.append(_doubtful(name, count, doubted, why))
    return found


def _doubtful(name: str, count: int, doubted: int, why: str) -> Finding:
    return Finding(
        kind=DOUBTFUL,
        subject=name,
        urgency="Expected",
        severity="Minor",
        certainty="Likely",
        headline=say("doubts.doubtful", sensor=name),
        text=say("doubts.look", readings=count, doubted=doubted, why=why),
        figures={"readings": count, "doubted": doubted, "reason": why},
    )
