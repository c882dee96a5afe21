"""The rule about the rain gauge: butts rise as in rain, and the gauge says nothing."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from steepwell.clock import from_ms, to_ms
from steepwell.garden.days import local_day, midnight
from steepwell.garden.garden import AIR
from steepwell.outlook.levels import READING_SD_SHARE
from steepwell.store.readings import HOUR_MS
from steepwell.watch.finding import Finding
from steepwell.watch.kinds import GAUGE
from steepwell.words.saying import say

if TYPE_CHECKING:
    from steepwell.watch.evidence import Evidence

LOOK_BACK_D = 30
STEP_MS = 3 * HOUR_MS
# A butt that rises by so many standard deviations of two readings rises.
RISES_SDS = 4.0
# Less rain than this says nothing, be it counted or seen.
LEAST_MM = 2.0
# A gauge that counts less than this part of what the butts show counts nothing, and one that counts
# more than the other part counts.
COUNTS_NOTHING, COUNTS = 0.25, 0.5
# The evidence of one rise, and how much of it is enough; two rises are, one is not.
FOR, AGAINST, RAISED_AT, CLEARED_BELOW, HIGHEST = 2.5, -4.0, 4.5, 2.0, 7.0
# Where only one butt can rise, somebody may have filled it: then three are asked for.
FOR_ALONE = 1.7
# Ice in the funnel, or snow on the roof that melts later.
FROST_C, THAWS_WITHIN_MS = 2.0, 48 * HOUR_MS
# Without a thermometer there may be frost outside these months from midsummer, July in the north.
MIDSUMMER, FROST_FREE_MONTHS = 7, 3

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Rise:
    """Butts that rose together: when, and what rain that would be beside what was counted [mm]."""

    begin_ms: int
    end_ms: int
    seen_mm: float
    counted_mm: float
    butts: int


def gauge_blocked(evidence: Evidence) -> list[Finding]:
    """Find out whether the gauge is blocked or tipped over.

    Parameters
    ----------
    evidence
        Levels, rain and air temperature.

    Returns
    -------
    list of Finding
        One, or none; frost and snow are no blockage.
    """
    if evidence.garden.rain_sensor is None or not evidence.garden.roof:
        return []
    stands = bool(evidence.standing_of(GAUGE))
    sum_, since = 0.0, list[Rise]()
    fed = {roof.into for roof in evidence.garden.roof}
    alone = len(fed & {butt.name for butt in evidence.probed.values()}) == 1
    for rise in rises(evidence):
        counted = rise.counted_mm / rise.seen_mm
        if counted < COUNTS_NOTHING:
            sum_ += FOR_ALONE if alone else FOR
        elif counted > COUNTS:
            sum_ += AGAINST
        sum_ = min(max(sum_, 0.0), HIGHEST)
        since = [*since, rise] if sum_ > 0.0 else []
    if sum_ < (CLEARED_BELOW if stands else RAISED_AT):
        return []
    seen, counted = sum(rise.seen_mm for rise in since), sum(rise.counted_mm for rise in since)
    return [
        Finding(
            kind=GAUGE,
            subject=evidence.garden.rain_sensor.name,
            urgency="Expected",
            severity="Minor",
            certainty="Likely",
            headline=say("gauges.blocked"),
            text=say(
                "gauges.look",
                rises=len(since),
                seen_mm=f"{seen:.0f}",
                counted_mm=f"{counted:.1f}",
            ),
            figures={
                "rises": len(since),
                "seen_mm": round(seen, 1),
                "counted_mm": round(counted, 1),
            },
        )
    ]


def rises(evidence: Evidence) -> list[Rise]:
    """Return when the butts rose as in rain, without those in frost.

    Parameters
    ----------
    evidence
        Levels, rain and air temperature.

    Returns
    -------
    list of Rise
        In the order of time.
    """
    garden = evidence.garden
    first = midnight(garden, local_day(garden, evidence.now) - timedelta(days=LOOK_BACK_D))
    moments = np.arange(to_ms(first), to_ms(evidence.now) + 1, STEP_MS)
    levels = evidence.levels_at(moments.tolist(), STEP_MS)
    runs_l_a_mm = {
        butt: sum(
            roof.area * roof.share * now.runoff * roof.filter_efficiency
            for roof, now in zip(garden.roof, evidence.roofs, strict=True)
            if roof.into == butt
        )
        for butt in levels
    }
    fed = [butt for butt in levels if runs_l_a_mm[butt] > 0.0]
    if not fed:
        return []
    capacity = {butt.name: butt.capacity_l for butt in garden.butt}
    steps = np.array([np.diff(levels[butt]) for butt in fed])
    noise = np.array([math.sqrt(2.0) * READING_SD_SHARE * capacity[butt] for butt in fed])
    rising = (np.nan_to_num(steps) > RISES_SDS * noise[:, None]).any(axis=0)
    found = []
    for begin, end in _runs(rising):
        litres = np.array([levels[butt][end] - levels[butt][begin] for butt in fed])
        begin_ms, end_ms = int(moments[begin]), int(moments[end])
        if np.isnan(litres).any() or _filled(evidence, begin_ms, end_ms):
            continue
        rose = litres > RISES_SDS * noise
        seen = litres[rose] / np.array([runs_l_a_mm[butt] for butt in fed])[rose]
        # One butt that rises alone, where others have room, was filled by somebody.
        room = np.array([levels[butt][begin] < 0.9 * capacity[butt] for butt in fed])
        if np.any(room & ~rose) or not len(seen) or np.median(seen) < LEAST_MM:
            continue
        rise = Rise(
            begin_ms,
            end_ms,
            float(np.median(seen)),
            _counted_mm(evidence, begin_ms, end_ms),
            int(rose.sum()),
        )
        if not may_be_ice(evidence, rise.begin_ms, rise.end_ms):
            found.append(rise)
    return found


def _runs(rising: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Return first and last moment of each run of rising steps."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], rising, [False]]).astype(int)))
    return [(int(begin), int(end)) for begin, end in edges.reshape(-1, 2)]


def _counted_mm(evidence: Evidence, begin_ms: int, end_ms: int) -> float:
    hours, rain = evidence.observed.hour_ms, evidence.observed.hour_rain_mm
    here = (hours > begin_ms - STEP_MS) & (hours < end_ms + HOUR_MS)
    return float(rain[here].sum())


def _filled(evidence: Evidence, begin_ms: int, end_ms: int) -> bool:
    return any(draw.litres < 0.0 and begin_ms <= draw.at_ms <= end_ms for draw in evidence.drawn)


def may_be_ice(evidence: Evidence, begin_ms: int, end_ms: int) -> bool:
    """Return whether it may have been frost, or snow that melted.

    Parameters
    ----------
    evidence
        The air temperature, and the place.
    begin_ms, end_ms
        The time in question [ms since 1970].

    Returns
    -------
    bool
        Without a thermometer by the time of the year.
    """
    garden = evidence.garden
    probe = garden.temperature_sensor(AIR)
    begin, end = from_ms(begin_ms - THAWS_WITHIN_MS), from_ms(end_ms)
    if probe is not None:
        coldest = [fact.least for fact in evidence.store.readings.hourly([probe.name], begin, end)]
        if coldest:
            return min(coldest) <= FROST_C
    months = abs(garden.garden.northern_month(local_day(garden, end)) - MIDSUMMER)
    return min(months, 12 - months) > FROST_FREE_MONTHS
