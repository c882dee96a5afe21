"""From the counter of a rain gauge to the rain between its readings."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from steepwell.model.values import Array


def counter_increments(values: ArrayLike) -> Array:
    """Return what was counted between successive readings of a counter.

    Parameters
    ----------
    values
        Successive readings of a counter that only grows; one lower than its predecessor means
        that the counter began again from nothing [mm].

    Returns
    -------
    array
        Amount since the reading before; the first is 0, for nothing is known before it [mm].

    Raises
    ------
    ValueError
        If the readings are not one row of numbers, or one is negative.

    References
    ----------
    The definition of a cumulative counter.
    """
    readings = np.asarray(values, dtype=np.float64)
    if readings.ndim != 1 or np.any(readings < 0.0):
        raise ValueError("a counter is one row of readings, none of them negative")
    increments = np.diff(readings, prepend=readings[:1])
    return np.where(increments < 0.0, readings, increments)
