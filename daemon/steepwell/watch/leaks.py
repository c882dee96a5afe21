"""The rule about leaks: a level falls night after night, and nobody draws."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from steepwell.clock import to_ms
from steepwell.model.robust import median_slope
from steepwell.outlook.observed import local_day, midnight
from steepwell.store.readings import HOUR_MS
from steepwell.watch.finding import Finding, still
from steepwell.watch.kinds import LEAK

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.watch.evidence import Evidence

# From ten in the evening to six in the morning nobody waters.
NIGHT_BEGINS, NIGHT_LASTS_H = timedelta(hours=22), 8
# The roofs run on for a while after the gauge has counted.
DRIPS_MS = (HOUR_MS, 2 * HOUR_MS)
LEAST_HOURS = 4
# So many dry nights are looked at, the fewer for a greater leak; further back, none.
NIGHTS, WITHIN_D = (3, 5, 7), 10
# Water lost in a day: at least, by the middle and by the cautious end of the range; and below
# which a leak that was told is over [L].
LEAST_L_D, SURELY_L_D, OVER_L_D = 2.0, 1.0, 1.0
# Standard errors to the ends of the range.
SURE_SES = 3.0
# Of a night's fall one hour may have this part; more is somebody who drew.
MOST_OF_A_NIGHT = 0.6

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Night:
    """A dry stretch of a night: hours since it began, and the level in each [h, L]."""

    hours: Array
    litres: Array


@dataclass(frozen=True, slots=True)
class SteadyFall:
    """How fast a level falls: the middle, and the least and most it may be [L/d]."""

    l_d: float
    least_l_d: float
    most_l_d: float


def steady_fall(nights: Sequence[Night]) -> SteadyFall:
    """Return how fast the level fell over some nights, whatever it did between them.

    Parameters
    ----------
    nights
        At least one.

    Returns
    -------
    SteadyFall
        Negative where it rose [L/d].

    References
    ----------
    As ``median_slope``, over hours and levels of each night less their means.
    """
    hours = np.concatenate([night.hours - night.hours.mean() for night in nights])
    litres = np.concatenate([night.litres - night.litres.mean() for night in nights])
    slope, error = median_slope(hours, litres)
    fall_l_d, off_l_d = -24.0 * slope, 24.0 * SURE_SES * error
    return SteadyFall(fall_l_d, fall_l_d - off_l_d, fall_l_d + off_l_d)


def leaks(evidence: Evidence) -> list[Finding]:
    """Find butts that leak.

    Parameters
    ----------
    evidence
        Levels, rain and what was noted.

    Returns
    -------
    list of Finding
        One a butt. What was told stands until the level holds for three dry nights.
    """
    stand = evidence.standing_of(LEAK)
    found = []
    for butt, nights in _dry_nights(evidence).items():
        falls = [(count, steady_fall(nights[-count:])) for count in NIGHTS if len(nights) >= count]
        sure = [
            (count, fall)
            for count, fall in falls
            if fall.l_d >= LEAST_L_D and fall.least_l_d >= SURELY_L_D
        ]
        if sure:
            found.append(_leak(butt, *sure[-1]))
        elif butt in stand and (not falls or falls[0][1].l_d >= OVER_L_D):
            found.append(still(stand[butt]))
    return found


def _dry_nights(evidence: Evidence) -> dict[str, list[Night]]:
    """Return the dry nights of each butt with a probe, the last one last."""
    garden, now = evidence.garden, evidence.now
    today = local_day(garden, now)
    nights: dict[str, list[Night]] = {butt.name: [] for butt in evidence.probed.values()}
    wet_ms = _wet_hours(evidence)
    first = midnight(garden, today - timedelta(days=WITHIN_D))
    read: dict[str, list[tuple[int, float]]] = {probe: [] for probe in evidence.probed}
    for fact in evidence.store.readings.hourly(list(evidence.probed), first, now):
        if fact.hour_ms not in wet_ms:
            read[fact.sensor].append((fact.hour_ms, fact.mean))
    for ago in range(WITHIN_D, 0, -1):
        begin = midnight(garden, today - timedelta(days=ago)) + NIGHT_BEGINS
        end = begin + timedelta(hours=NIGHT_LASTS_H)
        begin_ms, end_ms = to_ms(begin), to_ms(end)
        drew = {draw.butt for draw in evidence.drawn if begin_ms <= draw.at_ms <= end_ms}
        for probe, hours in read.items():
            butt = evidence.probed[probe].name
            night = _night([hour for hour in hours if begin_ms <= hour[0] < end_ms])
            if end <= now and night is not None and not drew & {None, butt}:
                nights[butt].append(night)
    return nights


def _wet_hours(evidence: Evidence) -> set[int]:
    """Return the hours in which it rained or roofs ran on [ms since 1970]."""
    rained_ms = evidence.observed.hour_ms.astype(int).tolist()
    return {hour_ms + late_ms for hour_ms in rained_ms for late_ms in (0, *DRIPS_MS)}


def _night(read: Sequence[tuple[int, float]]) -> Night | None:
    """Return the longest dry stretch of a night.

    None where it is too short or the water went all at once.
    """
    if not read:
        return None
    at_ms = np.array([hour_ms for hour_ms, _ in read])
    stretches = np.split(np.array(read), np.flatnonzero(np.diff(at_ms) > HOUR_MS) + 1)
    hours, litres = max(stretches, key=len).T
    if len(hours) < LEAST_HOURS:
        return None
    steps = np.diff(litres)
    # Half of what a probe goes up and down by itself is no step.
    grain = float(np.median(np.abs(steps - np.median(steps))))
    fallen = litres[0] - litres[-1]
    if -steps.min() - 4.0 * grain > MOST_OF_A_NIGHT * max(fallen, 0.0):
        return None
    return Night((hours - hours[0]) / HOUR_MS, litres)


def _leak(butt: str, count: int, fall: SteadyFall) -> Finding:
    return Finding(
        kind=LEAK,
        subject=butt,
        urgency="Immediate",
        severity="Moderate",
        certainty="Likely",
        headline=f"Butt {butt} loses about {_litres(fall.l_d)} L a day",
        text=(
            f"In {count} nights without rain, when nothing was drawn, its level fell by "
            f"{_litres(fall.least_l_d)} to {_litres(fall.most_l_d)} L a day; that is about "
            f"{_litres(7 * fall.l_d)} L a week. Look at the tap, the hose and the foot of the "
            "butt. This is over when the level holds for three dry nights."
        ),
        figures={
            "leak_l_d": round(fall.l_d, 2),
            "least_l_d": round(fall.least_l_d, 2),
            "most_l_d": round(fall.most_l_d, 2),
            "nights": count,
        },
    )


def _litres(litres: float) -> str:
    return f"{float(f'{litres:.2g}'):g}"
