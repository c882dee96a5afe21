"""Learning from rain after rain how much of it a roof delivers."""

from __future__ import annotations

import math

FORGETTING = 0.98
MOST_SURPRISE = 3.0
# From turf on a roof to sheet metal.
BOUNDS = (0.2, 1.0)


def learned_runoff(
    coefficient: float,
    variance: float,
    *,
    potential_l: float,
    collected_l: float,
    noise_l: float,
    most_variance: float,
) -> tuple[float, float]:
    """Return a runoff coefficient after one more rain.

    Recursive least squares with forgetting, so that a roof that changes is followed. A rain that
    lies beyond three standard deviations teaches nothing: that is a blocked downpipe or a butt
    that ran over, and must not be learned as a poorer roof.

    Parameters
    ----------
    coefficient
        Runoff coefficient so far [-].
    variance
        Its variance [-].
    potential_l
        Water that the rain would have brought at a coefficient of 1, losses taken off; above
        nothing [L].
    collected_l
        Rise of the butt over the rain, drawings added back; leave out rains in which it was
        full [L].
    noise_l
        Standard deviation of that: reading, gauge, and how rains differ; above nothing [L].
    most_variance
        Variance that forgetting may go back to, such as that of a first guess [-].

    Returns
    -------
    coefficient : float
        The new coefficient, between 0.2 and 1 [-].
    variance : float
        Its variance [-].

    Raises
    ------
    ValueError
        If potential or noise are not above nothing, or a variance is negative.

    References
    ----------
    Ljung (1999), System Identification, 2nd ed., ch. 11, recursive least squares with exponential
    forgetting; bounds, gate and forgetting of 0.98 are this program's own.
    """
    if not min(potential_l, noise_l) > 0.0 or min(variance, most_variance) < 0.0:
        raise ValueError(f"{potential_l} L of rain with {noise_l} L of noise teach nothing")
    wider = max(min(variance / FORGETTING, most_variance), variance)
    expected_l2 = potential_l**2 * wider + noise_l**2
    missed_l = collected_l - coefficient * potential_l
    if abs(missed_l) > MOST_SURPRISE * math.sqrt(expected_l2):
        return coefficient, variance
    gain = potential_l * wider / expected_l2
    least, most = BOUNDS
    learned = min(max(coefficient + gain * missed_l, least), most)
    return learned, wider * noise_l**2 / expected_l2
