"""The rule about thermometers: one creeps away from its neighbours, day by day."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from steepwell.clock import from_ms
from steepwell.garden.days import local_day, midnight
from steepwell.garden.garden import AIR
from steepwell.garden.sensors import TemperatureSensor
from steepwell.model.robust import median_slope
from steepwell.watch.finding import Finding
from steepwell.watch.kinds import DRIFT
from steepwell.words.saying import say

if TYPE_CHECKING:
    from steepwell.watch.evidence import Evidence

OVER_D, LEAST_D = 28, 20
# Hours of the day whose readings make its mean.
HOURS = (0, 6, 12, 18)
WITHIN = timedelta(hours=3)
# Water follows the air by so many days, whichever fits best; it has to begin some weeks before.
LAGS_D, SETTLES_D = (0.5, 1.0, 2.0, 3.0, 4.5, 6.5, 9.0, 13.0), 26
NEARLY = 1.4
# How far a probe parts in four weeks: at least; and below which one that was told is over [°C].
PARTS_C, OVER_C = 2.2, 1.0
# Part of the way from each week to the next: what happens at once is no drift.
WEEKS, LEAST_PART, MOST_PART = 4, 0.0, 0.7
SURE_SES = 2.6
# Vessels that part from the air alike leave the fault with the probe in the air; one alone has to
# go farther, lest the others follow.
ALIKE, ALONE_C = 0.5, 0.3

Array = NDArray[np.float64]


def parting_c(difference_c: Array) -> float:
    """Return how far two probes part steadily in the time of a series.

    Parameters
    ----------
    difference_c
        Daily difference of their means, NaN where one was not heard [°C].

    Returns
    -------
    float
        The way of the first from the second, 0 where it is not steady or not sure [°C].

    References
    ----------
    As ``median_slope``.
    """
    days = np.flatnonzero(~np.isnan(difference_c)).astype(float)
    if len(days) < LEAST_D:
        return 0.0
    known = difference_c[~np.isnan(difference_c)]
    slope, error = median_slope(days, known)
    if abs(slope) <= SURE_SES * error:
        return 0.0
    weeks = [float(np.median(part)) for part in np.array_split(known, WEEKS)]
    parts = np.diff(weeks) / ((weeks[-1] - weeks[0]) or np.inf)
    if parts.min() < LEAST_PART or parts.max() > MOST_PART:
        return 0.0
    return float(slope * len(difference_c))


def parts_from_air_c(water_c: Array, air_c: Array) -> float:
    """Return how far water parts steadily from what the air of the days before makes of it.

    Parameters
    ----------
    water_c, air_c
        Daily means, the last one last, NaN where one was not heard [°C].

    Returns
    -------
    float
        Over the last four weeks; the least by any lag that leaves small steps from day to day, for
        a lag that is wrong may lean like a drift [°C].
    """
    days = np.arange(len(air_c))
    known = ~np.isnan(air_c)
    filled = np.interp(days, days[known], air_c[known])
    keeps = np.exp(-1.0 / np.array(LAGS_D))
    follows = np.repeat(filled[:, None], len(keeps), axis=1)
    for day in range(1, len(follows)):
        follows[day] = keeps * follows[day - 1] + (1.0 - keeps) * filled[day]
    off = np.where(known, water_c, np.nan)[-OVER_D:, None] - follows[-OVER_D:]
    if np.isnan(off[:, 0]).sum() > OVER_D - LEAST_D:
        return 0.0
    steps = np.nanmedian(np.abs(np.diff(off, axis=0)), axis=0)
    near = np.flatnonzero(steps <= NEARLY * steps.min())
    return min((parting_c(off[:, at]) for at in near.tolist()), key=abs)


def probes_that_drift(evidence: Evidence) -> list[Finding]:
    """Find thermometers that part steadily from their neighbours.

    Parameters
    ----------
    evidence
        The readings of all thermometers.

    Returns
    -------
    list of Finding
        A vessel's that parts from the air, or the one in the air where vessels part from it alike;
        of one vessel and the air it cannot be told which. Without a probe in the air, none.
    """
    air = evidence.garden.temperature_sensor(AIR)
    means = _daily_means(evidence)
    stand = evidence.standing_of(DRIFT)
    if air is None or np.isnan(means[air.name]).sum() > len(means[air.name]) - LEAST_D:
        return []
    parts = {
        name: parts_from_air_c(mean, means[air.name])
        for name, mean in means.items()
        if name != air.name
    }
    if not parts:
        return []
    ways = sorted(parts.values(), key=abs)
    alike = len({way > 0.0 for way in ways}) == 1 and abs(ways[0]) >= ALIKE * abs(ways[-1])
    if len(parts) == 1:
        both = say("drifts.one-of-two", one=air.name, other=next(iter(parts)))
        suspects = {both: ways[0]}
    elif alike:
        suspects = {air.name: -float(np.median(ways))}
    else:
        suspects = parts
    return [
        _drift(name, way, from_air=name in parts)
        for name, way in suspects.items()
        if abs(way) >= (OVER_C if name in stand else PARTS_C + ALONE_C * (name in parts))
    ]


def _daily_means(evidence: Evidence) -> dict[str, Array]:
    """Return the daily means of each thermometer, the last of yesterday."""
    garden, now = evidence.garden, evidence.now
    probes = [sensor.name for sensor in garden.sensor if isinstance(sensor, TemperatureSensor)]
    today = local_day(garden, now)
    days = [
        midnight(garden, today - timedelta(days=ago)) for ago in range(OVER_D + SETTLES_D, 0, -1)
    ]
    moments = [day + timedelta(hours=hour) for day in days for hour in HOURS]
    asked = [(probe, moment) for probe in probes for moment in moments]
    read = iter(evidence.store.readings.last_good_of_each(asked))
    means = {}
    for probe in probes:
        values = [
            reading.value
            if reading is not None and moment - from_ms(reading.time_ms) <= WITHIN
            else np.nan
            for moment, reading in zip(moments, [next(read) for _ in moments], strict=True)
        ]
        means[probe] = np.array(values).reshape(len(days), len(HOURS)).mean(axis=1)
    return means


def _drift(subject: str, way_c: float, *, from_air: bool) -> Finding:
    others = say("drifts.air" if from_air else "drifts.water")
    way = say("drifts.upwards" if way_c > 0.0 else "drifts.downwards")
    return Finding(
        kind=DRIFT,
        subject=subject,
        urgency="Future",
        severity="Minor",
        certainty="Possible",
        headline=say("drifts.drifts", thermometer=subject),
        text=say(
            "drifts.look", weeks=OVER_D // 7, others=others, celsius=f"{abs(way_c):.1f}", way=way
        ),
        figures={"parted_c": round(way_c, 2), "over_d": OVER_D},
    )
