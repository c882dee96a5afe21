"""The rule about thermometers: one creeps away from its neighbours, day by day."""

from __future__ import annotations

from datetime import timedelta
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from steepwell.clock import from_ms
from steepwell.garden.sensors import TemperatureSensor
from steepwell.model.robust import median_slope
from steepwell.outlook.observed import local_day, midnight
from steepwell.watch.finding import Finding, still
from steepwell.watch.kinds import DRIFT

if TYPE_CHECKING:
    from steepwell.watch.evidence import Evidence

OVER_D, LEAST_D = 28, 20
# Hours of the day whose readings make its mean.
HOURS = (0, 6, 12, 18)
WITHIN = timedelta(hours=3)
# How far two probes part in four weeks: at least; and below which one that was told is over [°C].
PARTS_C, OVER_C = 2.0, 1.0
# Part of the way from each week to the next: what happens at once is no drift.
WEEKS, LEAST_PART, MOST_PART = 4, 0.05, 0.7
SURE_SES = 2.6

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


def probes_that_drift(evidence: Evidence) -> list[Finding]:
    """Find thermometers that part steadily from the others.

    Parameters
    ----------
    evidence
        The readings of all thermometers.

    Returns
    -------
    list of Finding
        The one that parts from each of the others, while these keep together; of two, both.
    """
    means = _daily_means(evidence)
    stand = evidence.standing_of(DRIFT)
    if len(means) < 2:  # noqa: PLR2004 - a neighbour is needed
        return []
    parts: dict[tuple[str, str], float] = {}
    for one, other in combinations(means, 2):
        way = parting_c(means[one] - means[other])
        parts[one, other], parts[other, one] = way, -way
    if len(means) == 2:  # noqa: PLR2004 - either may be wrong
        one, other = means
        subject = f"{one} and {other}"
        least = OVER_C if subject in stand else PARTS_C
        way = parts[one, other]
        return [_drift(subject, way, "each other")] if abs(way) >= least else []
    found = []
    for name in means:
        ways = [parts[name, other] for other in means if other != name]
        among = [abs(parts[pair]) for pair in combinations(set(means) - {name}, 2)]
        least = OVER_C if name in stand else PARTS_C
        nearest = min(ways, key=abs)
        if abs(nearest) >= least and len({way > 0.0 for way in ways}) == 1:
            if max(among) < abs(nearest) / 2:
                found.append(_drift(name, nearest, "the others"))
        elif name in stand and all(np.isnan(means[name][-7:])):
            found.append(still(stand[name]))
    return found


def _daily_means(evidence: Evidence) -> dict[str, Array]:
    """Return the daily means of the last four weeks of each thermometer that was heard."""
    garden, now = evidence.garden, evidence.now
    probes = [sensor.name for sensor in garden.sensor if isinstance(sensor, TemperatureSensor)]
    today = local_day(garden, now)
    days = [midnight(garden, today - timedelta(days=ago)) for ago in range(OVER_D, 0, -1)]
    moments = [day + timedelta(hours=hour) for day in days for hour in HOURS]
    asked = [(probe, moment) for probe in probes for moment in moments]
    read = iter(evidence.store.readings.last_good_of_each(asked))
    means = {}
    for probe in probes:
        values = np.array(
            [
                reading.value
                if reading is not None and moment - from_ms(reading.time_ms) <= WITHIN
                else np.nan
                for moment, reading in zip(moments, [next(read) for _ in moments], strict=True)
            ]
        ).reshape(len(days), len(HOURS))
        means[probe] = values.mean(axis=1)
    return {probe: mean for probe, mean in means.items() if not np.isnan(mean).all()}


def _drift(subject: str, way_c: float, others: str) -> Finding:
    weeks = OVER_D // 7
    return Finding(
        kind=DRIFT,
        subject=subject,
        urgency="Future",
        severity="Minor",
        certainty="Possible",
        headline=f"Thermometer {subject} drifts",
        text=(
            f"Over {weeks} weeks it parted from {others} by {abs(way_c):.1f} °C, "
            f"{'upwards' if way_c > 0.0 else 'downwards'}, a little every day. "
            "See that it hangs where it should and holds a steady 0 °C in melting ice; replace it "
            "if it does not. This is over when it keeps with them again."
        ),
        figures={"parted_c": round(way_c, 2), "over_d": OVER_D},
    )
