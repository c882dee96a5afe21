"""How far a feed must be thinned for its age, and how it is told: a rule of thumb made continuous.

It is not chemistry. Common practice knows two points, 1:30 at two weeks and 1:400 to 1:500 at
about a year; one thinning curve passes both, and every doubt is resolved towards thinner.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.model.values import Values

RATE_PER_D = 0.001
PARTS_WHEN_READY = 30.0
READY_AGE_D = 14.0
MOST_PARTS = 500.0
LADDER = (30, 60, 100, 150, 200, 300, 400, 500)
# An age summed from many short spans misses a round number by the last digits of a float.
ROUNDING = 1e-9

_PARTS_A_SHARE = PARTS_WHEN_READY / float(np.expm1(-RATE_PER_D * READY_AGE_D))


def dilution_parts(age_d: Values) -> Values:
    """Return the parts of water to one part of feed for a liquid of some age.

    Parameters
    ----------
    age_d
        Age in days at 17 °C [d].

    Returns
    -------
    float or array
        Parts of water to one of feed: 30 at 14 d, rising, held at 500 [-].

    Raises
    ------
    ValueError
        If the age is negative.

    References
    ----------
    Common practice, no source: 1:30 at two weeks, 1:400 to 1:500 at about a year.
    """
    if np.any(np.less(age_d, 0.0)):
        raise ValueError("the age of a feed cannot be negative")
    parts: Values = np.minimum(_PARTS_A_SHARE * np.expm1(-RATE_PER_D * age_d), MOST_PARTS)
    return parts


def told_dilution(thermal_age_d: Values, calendar_age_d: Values | float) -> Values:
    """Return the dilution to tell: the thinner of what both ages of a steep ask for.

    Parameters
    ----------
    thermal_age_d
        Age in days at 17 °C [d].
    calendar_age_d
        Days since the start [d].

    Returns
    -------
    float or array
        Parts of water to one of feed, before it is put on a ladder [-].

    Raises
    ------
    ValueError
        If an age is negative.

    References
    ----------
    Common practice, no source.
    """
    parts: Values = dilution_parts(np.maximum(thermal_age_d, calendar_age_d))
    return parts


def rung(parts: float, ladder: Sequence[int] = LADDER) -> int:
    """Return the rung on which a dilution is told, so that a label changes a few times a year.

    Parameters
    ----------
    parts
        Parts of water to one of feed [-].
    ladder
        Rungs in rising order [-].

    Returns
    -------
    int
        The next rung at or above ``parts``, which is the thinner one; the last where there is
        none above [-].

    Raises
    ------
    ValueError
        If the ladder is empty or does not rise.

    References
    ----------
    Common practice, no source.
    """
    if not ladder or any(lower >= upper for lower, upper in pairwise(ladder)):
        raise ValueError(f"the rungs of a ladder must rise: {tuple(ladder)}")
    least = parts * (1.0 - ROUNDING)
    return next((step for step in ladder if step >= least), ladder[-1])


def dose_l(can_l: Values, dilution_parts: Values | float) -> Values:
    """Return the feed that goes into a can.

    Parameters
    ----------
    can_l
        What the can holds when filled up with water [L].
    dilution_parts
        Parts of water to one part of feed [-].

    Returns
    -------
    float or array
        Feed, can/(1 + parts) [L].

    Raises
    ------
    ValueError
        If the can is smaller than nothing or the parts are negative.

    References
    ----------
    The definition of 1:D as one part of feed in 1 + D parts altogether.
    """
    if np.any(np.less(can_l, 0.0)) or np.any(np.less(dilution_parts, 0.0)):
        raise ValueError("neither a can nor its dilution can be negative")
    feed: Values = can_l / (1.0 + dilution_parts)
    return feed
