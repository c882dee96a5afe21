"""Rain told with each message, as if it had been counted on, and judged one message at a time."""

from __future__ import annotations

from itertools import accumulate
from typing import TYPE_CHECKING

from steepwell.sense.flags import PASS, SUSPECT
from steepwell.sense.quality import most_rain_mm
from steepwell.store.readings import DAY_MS
from steepwell.words.saying import say_count

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.store.judged import Point


def counted_on(series: Sequence[Point]) -> list[Point]:
    """Return the count a gauge would show that tells only what fell since its last message.

    Parameters
    ----------
    series
        Rain of each message [mm].

    Returns
    -------
    list of Point
        Rain since the first of them [mm].
    """
    counts = accumulate(point.value for point in series)
    return [point._replace(value=count) for point, count in zip(series, counts, strict=True)]


def of_falls(series: Sequence[Point]) -> list[Point]:
    """Judge rain that is told with each message.

    Parameters
    ----------
    series
        Rain of each message, in the order of time [mm].

    Returns
    -------
    list of Point
        The same readings with their flags and reasons; doubted is what has never fallen in the time
        since the message before.
    """
    judged = []
    before_ms: int | None = None
    for point in series:
        within_ms = DAY_MS if before_ms is None else point.time_ms - before_ms
        before_ms = point.time_ms
        if point.value <= most_rain_mm(within_ms):
            judged.append(point._replace(flag=PASS))
        else:
            minutes = round(within_ms / 60_000)
            why = say_count("verdicts.never-fallen", minutes, rain_mm=f"{point.value:.1f}")
            judged.append(point._replace(flag=SUSPECT, reason=why))
    return judged
