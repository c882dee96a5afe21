"""Rains one by one: when each began and ended, and what the roofs should have brought of it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from steepwell.clock import to_ms
from steepwell.garden.days import midnight
from steepwell.outlook.gutters import DRIES_IN_H
from steepwell.store.readings import DAY_MS, HOUR_MS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.garden.garden import Garden
    from steepwell.outlook.gutters import Gutter
    from steepwell.outlook.observed import Observed

# An hour for the water to run down, and the hour in which the last of it was counted.
RUNS_ON_MS = 2 * HOUR_MS
# Days with rain belong to one rain unless there are two dry ones between them.
DAYS_APART = 2

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Rain:
    """One rain.

    Attributes
    ----------
    before_ms, after_ms
        Moments between which all of it ran into the butts, and nothing of another
        [ms since 1970].
    rain_mm
        How much fell [mm].
    declared_l
        What each roof brings of it if it is as declared, in the order of the garden file [L].
    """

    before_ms: int
    after_ms: int
    rain_mm: float
    declared_l: tuple[float, ...]

    @property
    def days(self) -> float:
        """How long it took [d]."""
        return (self.after_ms - self.before_ms) / DAY_MS


def rains(garden: Garden, observed: Observed, gutters: Sequence[Gutter]) -> list[Rain]:
    """Return the rains that were measured.

    Parameters
    ----------
    garden
        The garden.
    observed
        Its weather; days whose rain was guessed tell nothing.
    gutters
        The roofs, in the order of the garden file.

    Returns
    -------
    list of Rain
        In order of time, by the hour where there is a gauge that tells, else by the day. The last
        may still go on.
    """
    if len(observed.hour_ms):
        return _by_hours(observed, gutters)
    return _by_days(garden, observed, gutters)


def _by_hours(observed: Observed, gutters: Sequence[Gutter]) -> list[Rain]:
    hour_ms, rain_mm = observed.hour_ms, observed.hour_rain_mm
    at_h = np.floor(hour_ms / HOUR_MS)
    starts = np.flatnonzero(np.append(True, np.diff(at_h) - 1.0 >= DRIES_IN_H))
    ends = np.append(starts[1:], len(hour_ms)) - 1
    brought = [gutter.of_hours_l(rain_mm, at_h, gutter.runoff) for gutter in gutters]
    return _told(
        # What is counted in an hour may have fallen in the hour before.
        hour_ms[starts] - HOUR_MS,
        hour_ms[ends] + RUNS_ON_MS,
        np.add.reduceat(rain_mm, starts),
        [np.add.reduceat(litres, starts) for litres in brought],
    )


def _by_days(garden: Garden, observed: Observed, gutters: Sequence[Gutter]) -> list[Rain]:
    """Return runs of days with rain of unknown hours.

    A gauge read in the morning tells of the night, so that a rain begins with the day before.
    """
    wet = np.flatnonzero((observed.rain_mm > 0) & ~observed.rain_guessed)
    if not len(wet):
        return []
    starts = np.flatnonzero(np.append(True, np.diff(wet) > DAYS_APART))
    ends = np.append(starts[1:], len(wet)) - 1
    brought = [gutter.of_days_l(observed.rain_mm[wet], gutter.runoff) for gutter in gutters]

    def begins_ms(day: int) -> int:
        return to_ms(midnight(garden, observed.first + timedelta(days=day)))

    return _told(
        np.array([begins_ms(day - 1) for day in wet[starts].tolist()]),
        np.array([begins_ms(day + 1) for day in wet[ends].tolist()]),
        np.add.reduceat(observed.rain_mm[wet], starts),
        [np.add.reduceat(litres, starts) for litres in brought],
    )


def _told(before_ms: Array, after_ms: Array, rain_mm: Array, brought: list[Array]) -> list[Rain]:
    by_rain = np.array(brought).reshape(len(brought), len(rain_mm)).T
    return [
        Rain(int(before), int(after), float(fallen), tuple(litres))
        for before, after, fallen, litres in zip(
            before_ms, after_ms, rain_mm, by_rain.tolist(), strict=True
        )
    ]
