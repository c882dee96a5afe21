"""How well forecasts did: scores of ranges and of chances, and ranks of what came."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

# Chances are brought together in tenths to see whether they come true as often as they say.
BINS = 10

Array = NDArray[np.float64]
Ranks = NDArray[np.int_]


def crps_ensemble(members: Array, truth: Array) -> Array:
    """Return the continuous ranked probability score of ensembles.

    It is the mean distance of the members from what came, less half their mean distance from each
    other: 0 is perfect, and one member alone scores its error.

    Parameters
    ----------
    members
        Forecasts; members are the last axis.
    truth
        What came, without that axis.

    Returns
    -------
    array
        One score a forecast [unit of the forecast].

    References
    ----------
    Gneiting and Raftery (2007), J. Am. Stat. Assoc. 102, 359-378, eq. 21.
    """
    ordered = np.sort(members, axis=-1)
    count = ordered.shape[-1]
    error = np.abs(ordered - np.asarray(truth)[..., None]).mean(axis=-1)
    # The sum of all distances, pair by pair, from how often each member is the greater one.
    weight = 2.0 * np.arange(1, count + 1) - count - 1.0
    score: Array = error - (ordered @ weight) / count**2
    return score


def crps_quantiles(levels: Array, quantiles: Array, truth: Array) -> Array:
    """Return the continuous ranked probability score as far as quantiles tell it.

    The score is twice the integral of the quantile (pinball) score over all levels; each quantile
    stands for the levels that are nearest to it. With n quantiles in the middles of n equal shares
    this is the score of the ensemble that they form.

    Parameters
    ----------
    levels
        Levels of the quantiles, rising, between 0 and 1 [-].
    quantiles
        Forecasts; quantiles are the last axis.
    truth
        What came, without that axis.

    Returns
    -------
    array
        One score a forecast [unit of the forecast].

    References
    ----------
    Laio and Tamea (2007), Hydrol. Earth Syst. Sci. 11, 1267-1277, eq. 7.
    """
    edges = np.concatenate([[0.0], (levels[1:] + levels[:-1]) / 2.0, [1.0]])
    over = np.asarray(truth)[..., None] - quantiles
    pinball = np.maximum(levels * over, (levels - 1.0) * over)
    score: Array = 2.0 * pinball @ np.diff(edges)
    return score


@dataclass(frozen=True, slots=True)
class Brier:
    """The score of chances, and what it is made of.

    Attributes
    ----------
    score
        Mean square of chance less outcome: 0 is perfect [-].
    reliability
        How far chances are from how often they came true: 0 is perfect [-].
    resolution
        How far they tell the cases apart; more is better [-].
    uncertainty
        The score of the mean frequency, told always [-].
    within
        What chances that differ within one tenth add to the score [-]; with it, ``score`` is
        reliability less resolution plus uncertainty.
    """

    score: float
    reliability: float
    resolution: float
    uncertainty: float
    within: float


def brier(chances: Array, outcomes: NDArray[np.bool_]) -> Brier:
    """Return the score of chances, taken apart over tenths.

    Parameters
    ----------
    chances
        What was forecast, at least one, from 0 to 1 [-].
    outcomes
        Whether it came.

    Returns
    -------
    Brier
        The score and its terms.

    References
    ----------
    Murphy (1973), J. Appl. Meteorol. 12, 595-600, eq. 3; the rest within bins: Stephenson et al.
    (2008), Weather Forecast. 23, 752-757.
    """
    came = outcomes.astype(float)
    tenth = np.clip((chances * BINS).astype(int), 0, BINS - 1)
    count = np.bincount(tenth, minlength=BINS)
    used = count > 0
    told = np.bincount(tenth, chances, BINS)[used] / count[used]
    frequency = np.bincount(tenth, came, BINS)[used] / count[used]
    share = count[used] / len(chances)
    score = float(np.mean((chances - came) ** 2))
    reliability = float(share @ (told - frequency) ** 2)
    resolution = float(share @ (frequency - came.mean()) ** 2)
    uncertainty = float(came.mean() * (1.0 - came.mean()))
    within = score - (reliability - resolution + uncertainty)
    return Brier(score, reliability, resolution, uncertainty, within)


def ranks(members: Array, truth: Array, rng: np.random.Generator) -> Ranks:
    """Return the rank of what came among the members, from 0 to their number.

    Where members equal it, as at empty and full butts, one of the ranks they leave open is drawn.

    Parameters
    ----------
    members
        Forecasts; members are the last axis.
    truth
        What came, without that axis.
    rng
        What draws.

    Returns
    -------
    array of int
        One rank a forecast.

    References
    ----------
    Hamill (2001), Mon. Weather Rev. 129, 550-560, p. 552.
    """
    came = np.asarray(truth)[..., None]
    below = np.count_nonzero(members < came, axis=-1)
    equal = np.count_nonzero(members == came, axis=-1)
    return np.asarray(below + rng.integers(0, equal + 1))


def central_share(found: Ranks, members: int, share: float, rng: np.random.Generator) -> float:
    """Return how many ranks lie in a central part of all there are.

    A rank is spread evenly over its place, so that the part may end within one.

    Parameters
    ----------
    found
        The ranks.
    members
        How many members there were.
    share
        The central part, 0.8 for the middle eight tenths [-].
    rng
        What spreads.

    Returns
    -------
    float
        From 0 to 1; ``share`` itself if what came is one more member [-].
    """
    at = (found + rng.random(np.shape(found))) / (members + 1)
    return float(np.mean(np.abs(at - 0.5) <= share / 2.0))


def rank_histogram(found: Ranks, members: int, bars: int) -> Ranks:
    """Return how many ranks lie in each of equal parts; flat if what came is one more member.

    Parameters
    ----------
    found
        The ranks.
    members
        How many members there were; one more is a multiple of ``bars``.
    bars
        How many parts.

    Returns
    -------
    array of int
        One number a part.

    Raises
    ------
    ValueError
        If the ranks cannot be shared out evenly.
    """
    each, over = divmod(members + 1, bars)
    if over:
        raise ValueError(f"{members + 1} ranks are no multiple of {bars} bars")
    return np.bincount(np.ravel(found) // each, minlength=bars)


def skill(score: float, of_baseline: float) -> float | None:
    """Return by which share a score is better than that of a baseline.

    Parameters
    ----------
    score, of_baseline
        Mean scores, of which less is better.

    Returns
    -------
    float or None
        1 is perfect, 0 no better, below 0 worse [-]; None where the baseline has no fault.
    """
    return None if of_baseline <= 0.0 else 1.0 - score / of_baseline
