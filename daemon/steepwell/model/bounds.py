"""Bounds of single numbers: what is brought within them, and what is refused outside."""

from __future__ import annotations

import math


def clip(value: float, most: float) -> float:
    """Return a value brought to between nothing and the most there can be.

    Parameters
    ----------
    value
        Any quantity [any unit].
    most
        Its upper bound [the same unit].

    Returns
    -------
    float
        The value within its bounds [the same unit].
    """
    return min(max(value, 0.0), most)


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
