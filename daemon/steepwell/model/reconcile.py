"""Bringing the water reckoned in a butt together with what is read off it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from steepwell.model.values import Values

# Beyond this many standard deviations the normal distribution function is no number any more.
DEEP = -30.0


def carried_variance_l2(
    variance_l2: Values,
    *,
    inflow_l: Values | float,
    runoff_uncertainty: float,
    used_l: Values | float,
    use_uncertainty: float,
) -> Values:
    """Return how much less certain a volume is after a day.

    Parameters
    ----------
    variance_l2
        Variance of the volume at the start of the day [L2].
    inflow_l
        Water reckoned to have come off the roof [L].
    runoff_uncertainty
        Standard deviation of that, as a share of it [-].
    used_l
        Water reckoned to have been drawn [L].
    use_uncertainty
        Standard deviation of that, as a share of it [-].

    Returns
    -------
    float or array
        Variance at the end of the day; the days' errors are taken as independent [L2].

    Raises
    ------
    ValueError
        If a variance or an uncertainty is negative.

    References
    ----------
    Propagation of independent errors; Kalman (1960), Journal of Basic Engineering 82.
    """
    if min(runoff_uncertainty, use_uncertainty) < 0.0 or np.any(np.less(variance_l2, 0.0)):
        raise ValueError("neither a variance nor an uncertainty can be negative")
    grown: Values = (
        variance_l2 + (runoff_uncertainty * inflow_l) ** 2 + (use_uncertainty * used_l) ** 2
    )
    return grown


def corrected_by_level(
    volume_l: Values,
    variance_l2: Values,
    *,
    level_l: Values | float,
    level_variance_l2: Values | float,
) -> tuple[Values, Values]:
    """Return a reckoned volume corrected by a level reading.

    Parameters
    ----------
    volume_l
        Volume as reckoned [L].
    variance_l2
        Its variance [L2].
    level_l
        Volume as read [L].
    level_variance_l2
        Variance of the reading [L2].

    Returns
    -------
    volume_l : float or array
        Volume between the two, nearer to the more certain one [L].
    variance_l2 : float or array
        Its variance, less than either [L2].

    Raises
    ------
    ValueError
        If a variance is negative, or both are nothing.

    References
    ----------
    Kalman (1960), Journal of Basic Engineering 82, in one dimension.
    """
    together = _together_l2(variance_l2, level_variance_l2)
    gain = variance_l2 / together
    volume: Values = volume_l + gain * (level_l - volume_l)
    variance: Values = variance_l2 * level_variance_l2 / together
    return volume, variance


def corrected_by_bound(
    volume_l: Values,
    variance_l2: Values,
    *,
    at_least_l: Values | float,
    bound_variance_l2: Values | float = 0.0,
) -> tuple[Values, Values]:
    """Return a reckoned volume corrected by a reading that says "this much or more".

    A probe that is nearer to the water than it can measure says that the butt is full or nearly;
    so does a gardener who sees it run over. A volume reckoned well above stays as it is.

    Parameters
    ----------
    volume_l
        Volume as reckoned [L].
    variance_l2
        Its variance [L2].
    at_least_l
        Volume at which the reading begins to say so [L].
    bound_variance_l2
        Variance of that [L2].

    Returns
    -------
    volume_l : float or array
        Mean of the volumes that agree with the reading [L].
    variance_l2 : float or array
        Their variance [L2].

    Raises
    ------
    ValueError
        If a variance is negative, or both are nothing.

    References
    ----------
    Moments of a normal distribution cut off by another: Rasmussen and Williams (2006), Gaussian
    Processes for Machine Learning, eq. 3.85 and 3.87, p. 74 to 75.
    """
    spread = np.sqrt(_together_l2(variance_l2, bound_variance_l2))
    above = (volume_l - at_least_l) / spread
    hazard = np.vectorize(_hazard, otypes=[np.float64])(above)[()]
    volume: Values = volume_l + variance_l2 * hazard / spread
    kept = 1.0 - variance_l2 / spread**2 * hazard * (hazard + above)
    variance: Values = variance_l2 * np.clip(kept, 0.0, 1.0)
    return volume, variance


def clipped_variance_l2(
    volume_l: float, variance_l2: float, *, least_l: float = -math.inf, most_l: float = math.inf
) -> float:
    """Return the variance of a volume once it is kept within what a butt can hold.

    A butt that has surely run over is surely full, however little was known before.

    Parameters
    ----------
    volume_l
        Volume as reckoned, perhaps beyond the bounds [L].
    variance_l2
        Its variance [L2].
    least_l, most_l
        The bounds; what lies beyond comes to lie on them [L].

    Returns
    -------
    float
        Variance of what is left [L2].

    Raises
    ------
    ValueError
        If the variance is negative, or nothing lies between the bounds.

    References
    ----------
    First two moments of a normal distribution censored at both ends: Greene (2012), Econometric
    Analysis, 7th ed., theorem 19.3, from memory, and here derived by integration.
    """
    if variance_l2 < 0.0 or least_l > most_l:
        raise ValueError(f"a variance of {variance_l2} L2 in {least_l} to {most_l} L cannot be")
    if variance_l2 == 0.0:
        return 0.0
    spread = math.sqrt(variance_l2)
    low, high = (least_l - volume_l) / spread, (most_l - volume_l) / spread
    below, above = 0.5 * math.erfc(-low / math.sqrt(2.0)), 0.5 * math.erfc(high / math.sqrt(2.0))
    mean, square = _density(low) - _density(high), 1.0 - below - above
    if below > 0.0:
        mean += low * below
        square += low * _density(low) + low * low * below
    if above > 0.0:
        mean += high * above
        square += high * high * above - high * _density(high)
    return variance_l2 * min(max(square - mean * mean, 0.0), 1.0)


def _density(at: float) -> float:
    return math.exp(-0.5 * at * at) / math.sqrt(2.0 * math.pi)


def _together_l2(variance_l2: Values, other_l2: Values | float) -> Values:
    together: Values = variance_l2 + other_l2
    negative = np.any(np.less(variance_l2, 0.0)) or np.any(np.less(other_l2, 0.0))
    if negative or np.any(np.less_equal(together, 0.0)):
        raise ValueError(f"variances {variance_l2} and {other_l2} L2 say nothing together")
    return together


def _hazard(above: float) -> float:
    """Return the normal density over the share below it."""
    if above < DEEP:
        return -above - 1.0 / above + 2.0 / above**3
    share = 0.5 * math.erfc(-above / math.sqrt(2.0))
    return _density(above) / share
