"""Tests of a series of readings, each giving every reading a flag; nothing here knows a sensor."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from steepwell.sense.convert import FAIL, NOT_EVALUATED, PASS, SUSPECT

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

MISSING = 9
# Of several tests the gravest says what a reading is; one that passed any test was evaluated.
PRECEDENCE = (MISSING, NOT_EVALUATED, PASS, SUSPECT, FAIL)

HOUR_MS = 3_600_000
# A neighbour in time that is farther off says nothing of a spike.
NEIGHBOURS_WITHIN_MS = 3 * HOUR_MS
# What may fall in an hour and, over longer, in each further one. The most on record in the British
# Isles is 92 mm in an hour and 341 mm in a day; from memory.
MOST_IN_AN_HOUR_MM, MOST_IN_A_FURTHER_HOUR_MM, LEAST_TOLD_MM = 100.0, 11.0, 5.0

Range = tuple[float, float]


def gross_range(values: Sequence[float], *, fail: Range, suspect: Range) -> list[int]:
    """Flag values that cannot be, or hardly.

    Parameters
    ----------
    values
        In any unit; NaN where one is missing.
    fail
        Beyond this a value cannot be [unit of the values].
    suspect
        Beyond this it is doubted [unit of the values].

    Returns
    -------
    list of int
        Flags.

    References
    ----------
    IOC/QARTOD gross range test; flags as in UNESCO (2013).
    """
    return [
        MISSING
        if math.isnan(value)
        else FAIL
        if not fail[0] <= value <= fail[1]
        else SUSPECT
        if not suspect[0] <= value <= suspect[1]
        else PASS
        for value in values
    ]


def climatological_range(
    months: Sequence[int], values: Sequence[float], usual: Mapping[int, Range]
) -> list[int]:
    """Flag values that have hardly ever been in their month.

    Parameters
    ----------
    months
        Month of each value, 1 to 12.
    values
        In any unit; NaN where one is missing.
    usual
        Lowest and highest value of each month, where it is known [unit of the values].

    Returns
    -------
    list of int
        Flags; not evaluated in a month of which nothing is known.
    """
    return [
        MISSING
        if math.isnan(value)
        else NOT_EVALUATED
        if month not in usual
        else PASS
        if usual[month][0] <= value <= usual[month][1]
        else SUSPECT
        for month, value in zip(months, values, strict=True)
    ]


def spike(
    times_ms: Sequence[int], values: Sequence[float], *, suspect: float, fail: float
) -> list[int]:
    """Flag values that leave both their neighbours in one direction.

    The smaller of both distances counts, so that the neighbours of a spike are not failed with it.

    Parameters
    ----------
    times_ms
        When each was measured, in order [ms since 1970].
    values
        In any unit; NaN where one is missing.
    suspect, fail
        Distances beyond which a value is doubted, or fails [unit of the values].

    Returns
    -------
    list of int
        Flags; not evaluated without a neighbour on both sides within three hours, so that the
        newest waits for its successor.
    """
    flags = [MISSING if math.isnan(value) else NOT_EVALUATED for value in values]
    for at in range(1, len(values) - 1):
        before, here, after = values[at - 1 : at + 2]
        near = max(times_ms[at] - times_ms[at - 1], times_ms[at + 1] - times_ms[at])
        if math.isnan(before + here + after) or near > NEIGHBOURS_WITHIN_MS:
            continue
        up, down = here - before, here - after
        height = min(abs(up), abs(down)) if up * down > 0.0 else 0.0
        flags[at] = FAIL if height > fail else SUSPECT if height > suspect else PASS
    return flags


def rate_of_change(
    times_ms: Sequence[int], values: Sequence[float], *, at_once: float, in_an_hour: float
) -> list[int]:
    """Flag values that moved faster from the one before than they can.

    Parameters
    ----------
    times_ms
        When each was measured, in order [ms since 1970].
    values
        In any unit; NaN where one is missing.
    at_once
        How far they may move in no time [unit of the values].
    in_an_hour
        How much farther for each hour between them [unit of the values].

    Returns
    -------
    list of int
        Flags; the first has nothing to be compared with and passes.
    """
    flags = [MISSING if math.isnan(value) else PASS for value in values]
    for at in range(1, len(values)):
        hours = (times_ms[at] - times_ms[at - 1]) / HOUR_MS
        if abs(values[at] - values[at - 1]) > at_once + in_an_hour * hours:
            flags[at] = SUSPECT
    return flags


def flat_since(
    times_ms: Sequence[int], values: Sequence[float], *, tolerance: float = 0.0
) -> list[int]:
    """Return since when each value has not moved.

    Parameters
    ----------
    times_ms
        When each was measured, in order [ms since 1970].
    values
        In any unit.
    tolerance
        How far a value may be from that at the beginning and count as not moved
        [unit of the values].

    Returns
    -------
    list of int
        A time for each [ms since 1970].
    """
    since: list[int] = []
    begin = 0
    for at, value in enumerate(values):
        if not abs(value - values[begin]) <= tolerance:
            begin = at
        since.append(times_ms[begin])
    return since


def flat_line(
    times_ms: Sequence[int],
    values: Sequence[float],
    *,
    suspect_ms: int,
    fail_ms: int,
    tolerance: float = 0.0,
) -> list[int]:
    """Flag values that have not moved for too long; not for rain, which may well not fall.

    Parameters
    ----------
    times_ms
        When each was measured, in order [ms since 1970].
    values
        In any unit; NaN where one is missing.
    suspect_ms, fail_ms
        How long a value may stay before it is doubted, or fails [ms].
    tolerance
        As ``flat_since``.

    Returns
    -------
    list of int
        Flags.
    """
    return [
        MISSING
        if math.isnan(value)
        else FAIL
        if time_ms - begin_ms >= fail_ms
        else SUSPECT
        if time_ms - begin_ms >= suspect_ms
        else PASS
        for time_ms, value, begin_ms in zip(
            times_ms, values, flat_since(times_ms, values, tolerance=tolerance), strict=True
        )
    ]


def counter_spike(times_ms: Sequence[int], counted_mm: Sequence[float]) -> list[int]:
    """Flag counts of rain that were not counted: beyond or below both neighbours.

    A counter only grows or starts again. One that is back where it was with the next reading did
    not start again, and one that falls back to it did not grow.

    Parameters
    ----------
    times_ms
        When each was read, in order [ms since 1970].
    counted_mm
        Rain since the gauge started [mm].

    Returns
    -------
    list of int
        Flags; not evaluated without a neighbour on both sides. Doubted is what rose faster than it
        has ever rained.
    """
    flags = [NOT_EVALUATED] * len(counted_mm)
    sound = 0
    for at in range(1, len(counted_mm) - 1):
        before, here, after = counted_mm[sound], counted_mm[at], counted_mm[at + 1]
        goes_on = 0.0 <= after - before <= most_rain_mm(times_ms[at + 1] - times_ms[sound])
        too_low = here < before and after - here > most_rain_mm(times_ms[at + 1] - times_ms[at])
        if goes_on and (here > after or too_low):
            flags[at] = FAIL
            continue
        too_fast = here - before > most_rain_mm(times_ms[at] - times_ms[sound])
        flags[at], sound = SUSPECT if too_fast else PASS, at
    return flags


def most_rain_mm(within_ms: float) -> float:
    """Return the most that can fall in some time.

    Parameters
    ----------
    within_ms
        How long [ms].

    Returns
    -------
    float
        [mm].
    """
    hours = within_ms / HOUR_MS
    further = max(hours - 1.0, 0.0)
    fallen = MOST_IN_AN_HOUR_MM * min(hours, 1.0) + MOST_IN_A_FURTHER_HOUR_MM * further
    return max(fallen, LEAST_TOLD_MM)


def gravest(*tests: Sequence[int]) -> list[int]:
    """Return one flag a reading from those that several tests gave it.

    Parameters
    ----------
    tests
        Flags of each test, all of one length.

    Returns
    -------
    list of int
        Flags.
    """
    return [max(flags, key=PRECEDENCE.index) for flags in zip(*tests, strict=True)]
