"""What is broken in a garden: all rules, and which of them tells the cause."""

from __future__ import annotations

from typing import TYPE_CHECKING

from steepwell.store.dated import rests
from steepwell.watch.creeping import levels_that_creep
from steepwell.watch.doubts import doubtful_sensors
from steepwell.watch.downpipes import downpipes
from steepwell.watch.drawoffs import draw_offs
from steepwell.watch.drifts import probes_that_drift
from steepwell.watch.evidence import Evidence
from steepwell.watch.gauges import gauge_blocked
from steepwell.watch.kinds import DOWNPIPE, LEAK
from steepwell.watch.leaks import leaks

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from steepwell.garden.garden import Garden
    from steepwell.store.entries import Entry
    from steepwell.store.store import Store
    from steepwell.watch.finding import Finding


def water_faults(
    garden: Garden, store: Store, entries: Sequence[Entry], now: datetime
) -> list[Finding]:
    """Find what is broken, a cause without its consequences.

    While the garden rests nothing is: its taps are open and its probes taken in. A probe that is
    doubted, or creeps, says nothing of leaks and downpipes of its butt. A leak that takes what a
    rain brings is no blocked downpipe, nor is a blocked downpipe a leak; whichever was told first
    is the cause. A leak by night is no watering that nobody noted.

    Parameters
    ----------
    garden
        The garden.
    store
        Readings and notices.
    entries
        The journal.
    now
        The moment of the job; nothing later is looked at.

    Returns
    -------
    list of Finding
        What is so now.
    """
    if rests(entries, now):
        return []
    evidence = Evidence(garden, store, entries, now, tuple(store.notices.standing()))
    doubtful = doubtful_sensors(evidence)
    names = {finding.subject for finding in doubtful}
    creeping = levels_that_creep(evidence)
    moved = {finding.subject for finding in creeping} | names
    unsure = {evidence.probed[name].name for name in moved if name in evidence.probed}
    gauge_unsure = garden.rain_sensor is not None and garden.rain_sensor.name in names
    leaking = [finding for finding in leaks(evidence) if finding.subject not in unsure]
    blocked = [] if gauge_unsure else downpipes(evidence)
    blocked = [f for f in blocked if f.figures.get("butt") not in unsure]
    leaking, blocked = _first_told(evidence, leaking, blocked)
    leak_butts = {finding.subject for finding in leaking}
    return [
        *doubtful,
        *leaking,
        *blocked,
        *([] if gauge_unsure else gauge_blocked(evidence)),
        *(f for f in (*probes_that_drift(evidence), *creeping) if f.subject not in names),
        *(f for f in draw_offs(evidence) if f.subject not in leak_butts | unsure),
    ]


def _first_told(
    evidence: Evidence, leaking: Sequence[Finding], blocked: Sequence[Finding]
) -> tuple[list[Finding], list[Finding]]:
    """Leave out, of a leak and a blocked downpipe of one butt, the one that was not told first."""
    told = evidence.standing_of(DOWNPIPE)
    leak_told = evidence.standing_of(LEAK)
    stands = {f.figures["butt"] for f in blocked if f.subject in told}
    leaks_told = [f for f in leaking if f.subject in leak_told or f.subject not in stands]
    butts = {finding.subject for finding in leaks_told}
    return leaks_told, [
        f for f in blocked if f.subject in told or f.figures.get("butt") not in butts
    ]
