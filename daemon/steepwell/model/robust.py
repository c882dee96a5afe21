"""Slopes that single values cannot pull aside."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

# From the median distance to the standard deviation, for normal errors, and what the median of
# slopes loses against least squares.
MAD_TO_SD, LESS_EFFICIENT = 1.4826, 1.05


def median_slope(x: Array, y: Array) -> tuple[float, float]:
    """Return the median of the slopes of all pairs of points, and its standard error.

    Parameters
    ----------
    x
        Where the values are, in any order, not all the same [unit of x].
    y
        The values [unit of y].

    Returns
    -------
    slope : float
        [unit of y per unit of x].
    error : float
        Its standard error, from how far values lie from the line in the middle
        [unit of y per unit of x].

    Raises
    ------
    ValueError
        If there are no two different places.

    References
    ----------
    Theil (1950); Sen (1968), Journal of the American Statistical Association 63, 1379-1389, for the
    slope. The error is that of least squares with a robust standard deviation, and a twentieth
    more; from memory.
    """
    apart = x[:, None] - x[None, :]
    later = apart > 0.0
    if not later.any():
        raise ValueError(f"{len(x)} values at one place have no slope")
    slope = float(np.median(((y[:, None] - y[None, :])[later]) / apart[later]))
    off = y - slope * x
    sd = MAD_TO_SD * float(np.median(np.abs(off - np.median(off))))
    return slope, LESS_EFFICIENT * sd / float(np.sqrt(((x - x.mean()) ** 2).sum()))
