"""The kinds of number the model computes with: a float, or a whole array at once."""

from __future__ import annotations

import math
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
# The argument typed with this alone says what comes back; the others may be plain floats.
Values = TypeVar("Values", float, NDArray[np.float64])


def clip(value: Values, most: float) -> Values:
    """Return a value brought to between nothing and the most there can be.

    Parameters
    ----------
    value
        Any quantity [any unit].
    most
        Its upper bound [the same unit].

    Returns
    -------
    float or array
        The value within its bounds [the same unit].
    """
    clipped: Values = np.clip(value, 0.0, most)
    return clipped


def require_positive(**sizes: float) -> None:
    """Refuse sizes that are not above nothing.

    Parameters
    ----------
    **sizes
        Sizes by the name under which they are refused [any unit].

    Raises
    ------
    ValueError
        If one is zero, negative, infinite or not a number.
    """
    for name, size in sizes.items():
        if not (size > 0.0 and math.isfinite(size)):
            raise ValueError(f"{name} must be above nothing, not {size}")
