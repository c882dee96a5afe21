"""Warmth that lasts: members begin from how warm yesterday was for the time of year."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from steepwell.outlook.days import days_from, leap_positions

if TYPE_CHECKING:
    from datetime import date

    from steepwell.outlook.observed import Observed
    from steepwell.outlook.record import Record
    from steepwell.outlook.weather import Weather

# Below this many pairs of days a record does not tell how long warmth lasts.
LEAST_PAIRS = 1000


def warmer_than_usual_c(observed: Observed, record: Record | None) -> float | None:
    """Return how much warmer the air was yesterday than it usually is on that date.

    Parameters
    ----------
    observed
        The weather up to yesterday.
    record
        The weather record, or None.

    Returns
    -------
    float or None
        Kelvins; None where yesterday was not measured or nothing is known of what is usual [K].
    """
    if record is None or not len(observed.tmin_c) or observed.temperature_guessed[-1]:
        return None
    _, tmin, tmax = record.normal(observed.day(len(observed.tmin_c) - 1))
    warmer_c = float(observed.tmin_c[-1] + observed.tmax_c[-1] - tmin - tmax) / 2
    return warmer_c if np.isfinite(warmer_c) else None


@lru_cache(maxsize=2)
def lasting_share(record: Record) -> float:
    """Return which share of unusual warmth or cold is left on the next day, as a rule.

    Parameters
    ----------
    record
        The weather record.

    Returns
    -------
    float
        Correlation of a day's departure from what is usual with that of the next, at least 0; 0
        for a record too short to tell [-].
    """
    mean_c = (record.tmin_c + record.tmax_c) / 2
    usual_c = record.usual_c().mean(axis=1)
    apart = mean_c - usual_c[leap_positions(days_from(record.first, record.days))]
    today, tomorrow = apart[:-1], apart[1:]
    both = np.isfinite(today + tomorrow)
    if both.sum() < LEAST_PAIRS or not np.var(today[both]) > 0.0:
        return 0.0
    return max(float(np.corrcoef(today[both], tomorrow[both])[0, 1]), 0.0)


def carry_warmth_on(weather: Weather, record: Record, first: date, warmer_c: float) -> Weather:
    """Return futures whose first days begin from how warm it is.

    A member's own departure on its first day is made up of what yesterday leaves and of what the
    day adds; the former is exchanged for that of the true yesterday, and fades.

    Parameters
    ----------
    weather
        The futures.
    record
        The weather record they come from.
    first
        Their first day.
    warmer_c
        How much warmer than usual the day before was [K].

    Returns
    -------
    Weather
        With other mean temperatures, all else as it was.
    """
    share = lasting_share(record)
    _, tmin, tmax = record.normal(first)
    own_c = weather.mean_c[0] - (tmin + tmax) / 2
    begin_c = share * warmer_c + np.sqrt(1.0 - share**2) * own_c
    fading = share ** np.arange(len(weather.mean_c))
    return replace(weather, mean_c=weather.mean_c + fading[:, None] * (begin_c - own_c))
