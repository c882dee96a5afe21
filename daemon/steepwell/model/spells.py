"""Runs of dry and of wet days: droughts, dry spells, and the longest of each."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from steepwell.model.values import Array

DROUGHT_BELOW_MM = 0.2
WET_DAY_MM = 1.0
LEAST_SPELL_D = 15
# Sums of tips may fall a hair short of the amount they stand for.
HAIR_MM = 1e-6


def absolute_droughts(rain_mm: Array) -> list[tuple[int, int]]:
    """Return the absolute droughts of a time.

    Parameters
    ----------
    rain_mm
        Rain of successive days; a day that is not a number ends a run [mm].

    Returns
    -------
    list of tuple
        First day, counted from 0, and length of each run of 15 days or more, none of them with
        0.2 mm or more [d].

    References
    ----------
    Meteorological Glossary (1963), as quoted since; British Rainfall 1887.
    """
    return _long_runs(rain_mm, DROUGHT_BELOW_MM)


def dry_spells(rain_mm: Array) -> list[tuple[int, int]]:
    """Return the dry spells of a time.

    Parameters
    ----------
    rain_mm
        Rain of successive days; a day that is not a number ends a run [mm].

    Returns
    -------
    list of tuple
        First day, counted from 0, and length of each run of 15 days or more, none of them with
        1.0 mm or more [d].

    References
    ----------
    Meteorological Glossary (1963), as quoted since.
    """
    return _long_runs(rain_mm, WET_DAY_MM)


def longest_dry_run_d(rain_mm: Array) -> NDArray[np.int64]:
    """Return the greatest number of consecutive dry days.

    Parameters
    ----------
    rain_mm
        Rain of successive days along the first axis; a day that is not a number ends a run [mm].

    Returns
    -------
    array
        CDD, the longest run of days with less than 1 mm, over the other axes [d].

    References
    ----------
    Expert Team on Climate Change Detection and Indices (ETCCDI), index CDD.
    """
    return _longest_run_d(_dry(rain_mm, WET_DAY_MM))


def longest_wet_run_d(rain_mm: Array) -> NDArray[np.int64]:
    """Return the greatest number of consecutive wet days.

    Parameters
    ----------
    rain_mm
        Rain of successive days along the first axis; a day that is not a number ends a run [mm].

    Returns
    -------
    array
        CWD, the longest run of days with 1 mm or more, over the other axes [d].

    References
    ----------
    Expert Team on Climate Change Detection and Indices (ETCCDI), index CWD.
    """
    return _longest_run_d(~_dry(rain_mm, WET_DAY_MM) & ~np.isnan(rain_mm))


def _dry(rain_mm: Array, below_mm: float) -> NDArray[np.bool_]:
    dry: NDArray[np.bool_] = np.less(rain_mm, below_mm - HAIR_MM)
    return dry


def _long_runs(rain_mm: Array, below_mm: float) -> list[tuple[int, int]]:
    edges = np.diff(_dry(rain_mm, below_mm).astype(np.int8), prepend=0, append=0)
    starts, ends = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)
    return [
        (int(start), int(end - start))
        for start, end in zip(starts, ends, strict=True)
        if end - start >= LEAST_SPELL_D
    ]


def _longest_run_d(counts: NDArray[np.bool_]) -> NDArray[np.int64]:
    run = np.zeros(counts.shape[1:], dtype=np.int64)
    longest = np.zeros_like(run)
    for day in counts:
        run = (run + 1) * day
        longest = np.maximum(longest, run)
    return longest
