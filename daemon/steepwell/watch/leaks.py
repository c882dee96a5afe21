"""The rule about leaks: a level falls night after night, and nobody draws."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from steepwell.clock import to_ms
from steepwell.model.robust import MAD_TO_SD, median_slope
from steepwell.store.readings import HOUR_MS
from steepwell.watch.finding import Finding, still
from steepwell.watch.kinds import LEAK
from steepwell.words.figures import two_figures
from steepwell.words.saying import say

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from steepwell.watch.evidence import Evidence

# Nobody waters from nine in the evening to six in the morning.
NIGHT_BEGINS_H, NIGHT_ENDS_H = 21, 6
# The roofs run on for a while after the gauge has counted.
DRIPS_MS = (HOUR_MS, 2 * HOUR_MS)
# A quiet stretch: nothing rained in, nothing was noted as drawn, and no hour stands out by so many
# standard deviations of the others.
LEAST_HOURS, STANDS_OUT_SDS = 6, 4.5
# How far back is looked, the less for a greater leak; and the quiet hours that are needed in it.
WINDOWS_D, LEAST_QUIET_H, LEAST_NIGHT_H = (3, 5, 7), 36, 12
# Water lost in a day: at least, by the middle and by the cautious end of the range; and below
# which a leak that was told is over [L].
LEAST_L_D, SURELY_L_D, OVER_L_D = 2.5, 1.25, 1.25
# Standard errors to the ends of the range.
SURE_SES = 4.0
# By night it falls by at least this part of what it falls by day and night; else somebody draws.
BY_NIGHT = 0.4

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Stretch:
    """A quiet stretch: hours since 1970 and the level in each [h, L]."""

    hours: Array
    litres: Array


@dataclass(frozen=True, slots=True)
class SteadyFall:
    """How fast a level falls: the middle, and the least and most it may be [L/d]."""

    l_d: float
    least_l_d: float
    most_l_d: float


def steady_fall(stretches: Sequence[Stretch]) -> SteadyFall:
    """Return how fast a level fell in some stretches, whatever it did between them.

    Parameters
    ----------
    stretches
        At least one.

    Returns
    -------
    SteadyFall
        Negative where it rose [L/d].

    References
    ----------
    As ``median_slope``, over hours and levels of each stretch less their means.
    """
    hours = np.concatenate([each.hours - each.hours.mean() for each in stretches])
    litres = np.concatenate([each.litres - each.litres.mean() for each in stretches])
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
        One a butt. What was told stands until the level holds.
    """
    stand = evidence.standing_of(LEAK)
    found = []
    for butt, quiet in quiet_stretches(evidence, max(WINDOWS_D)).items():
        falls = list(_falls(evidence, quiet))
        sure = [fall for fall in falls if fall.l_d >= LEAST_L_D and fall.least_l_d >= SURELY_L_D]
        # The last days have the last word on whether it goes on.
        goes_on = not falls or falls[0].l_d >= OVER_L_D
        if sure and goes_on:
            found.append(_leak(butt, sure[-1]))
        elif butt in stand and goes_on:
            found.append(still(stand[butt]))
    return found


def _falls(evidence: Evidence, quiet: Sequence[Stretch]) -> Iterator[SteadyFall]:
    """Yield how fast a level falls of late, by night as by day, over longer and longer times.

    Where it falls by day alone, that is no leak: then the fall by night is told.
    """
    now_h = to_ms(evidence.now) / HOUR_MS
    for days in WINDOWS_D:
        recent = [part for each in quiet if (part := _since(each, now_h - 24.0 * days))]
        nights = [night for each in recent for night in by_night_of(evidence, each)]
        if (
            sum(len(each.hours) for each in recent) < LEAST_QUIET_H
            or sum(len(night.hours) for night in nights) < LEAST_NIGHT_H
        ):
            continue
        fall, by_night = steady_fall(recent), steady_fall(nights)
        yield fall if by_night.l_d >= BY_NIGHT * fall.l_d else by_night


def _since(stretch: Stretch, begin_h: float) -> Stretch | None:
    """Return what of a stretch is after a moment, None if that is too little."""
    late = stretch.hours >= begin_h
    if late.sum() < LEAST_HOURS:
        return None
    return Stretch(stretch.hours[late], stretch.litres[late])


def quiet_stretches(evidence: Evidence, days: int) -> dict[str, list[Stretch]]:
    """Return the quiet stretches of each butt with a probe.

    Parameters
    ----------
    evidence
        Levels, rain and what was noted.
    days
        How far back [d].

    Returns
    -------
    dict
        By butt, in the order of time: nothing rained in, nothing was noted as drawn.
    """
    start = evidence.now - timedelta(days=days)
    read: dict[str, list[tuple[int, float]]] = {probe: [] for probe in evidence.probed}
    for fact in evidence.store.readings.hourly(list(evidence.probed), start, evidence.now):
        read[fact.sensor].append((fact.hour_ms // HOUR_MS, fact.mean))
    wet = _wet_hours(evidence)
    quiet: dict[str, list[Stretch]] = {}
    for probe, levels in read.items():
        butt = evidence.probed[probe].name
        # What is drawn within an hour shows in its mean and in the next.
        busy = wet | {
            draw.at_ms // HOUR_MS + late
            for draw in evidence.drawn
            if draw.butt in {None, butt}
            for late in (0, 1)
        }
        quiet[butt] = _stretches([level for level in levels if level[0] not in busy])
    return quiet


def _wet_hours(evidence: Evidence) -> set[int]:
    """Return the hours in which it rained or roofs ran on [h since 1970]."""
    rained_ms = evidence.observed.hour_ms.astype(int).tolist()
    return {(hour_ms + late_ms) // HOUR_MS for hour_ms in rained_ms for late_ms in (0, *DRIPS_MS)}


def _stretches(levels: Sequence[tuple[int, float]]) -> list[Stretch]:
    """Cut levels where an hour is missing, and where one stands out."""
    if len(levels) < LEAST_HOURS:
        return []
    hours, litres = np.array(levels, dtype=float).T
    steps = np.diff(litres)
    follows = np.diff(hours) <= 1.0
    usual = float(np.median(steps[follows])) if follows.any() else 0.0
    off = np.abs(steps - usual)
    sd = MAD_TO_SD * float(np.median(off[follows])) if follows.any() else 0.0
    cut = ~follows | (off > STANDS_OUT_SDS * sd)
    parts = np.split(np.arange(len(hours)), np.flatnonzero(cut) + 1)
    return [Stretch(hours[part], litres[part]) for part in parts if len(part) >= LEAST_HOURS]


def by_night_of(evidence: Evidence, stretch: Stretch) -> list[Stretch]:
    """Return what of a stretch is by night, local time, in the order of time."""
    # A clock put forward meanwhile does not matter here.
    ahead = evidence.now.astimezone(evidence.garden.garden.zone).utcoffset() or timedelta()
    local = (stretch.hours + ahead // timedelta(hours=1)) % 24
    night = (local >= NIGHT_BEGINS_H) | (local < NIGHT_ENDS_H)
    parts = np.split(np.flatnonzero(night), np.flatnonzero(np.diff(np.flatnonzero(night)) > 1) + 1)
    return [
        Stretch(stretch.hours[part], stretch.litres[part])
        for part in parts
        if len(part) >= LEAST_HOURS // 2
    ]


def _leak(butt: str, fall: SteadyFall) -> Finding:
    return Finding(
        kind=LEAK,
        subject=butt,
        urgency="Immediate",
        severity="Moderate",
        certainty="Likely",
        headline=say("leaks.loses", butt=butt, litres=two_figures(fall.l_d)),
        text=say(
            "leaks.look",
            least=two_figures(fall.least_l_d),
            most=two_figures(fall.most_l_d),
            a_week=two_figures(7 * fall.l_d),
        ),
        figures={
            "leak_l_d": round(fall.l_d, 2),
            "least_l_d": round(fall.least_l_d, 2),
            "most_l_d": round(fall.most_l_d, 2),
        },
    )
