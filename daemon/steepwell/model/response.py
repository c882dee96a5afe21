"""What a lack of water costs in yield, and when it costs most."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from steepwell.model.values import Values


@dataclass(frozen=True, slots=True)
class PeriodKy:
    """Yield response of a crop in each of its growth periods.

    Parameters
    ----------
    vegetative
        Response from planting until the crop is full grown [-].
    flowering
        Response while it flowers, sets fruit or tubers [-].
    yield_formation
        Response while fruits, heads, bulbs or tubers fill [-].
    ripening
        Response in the late season [-].
    """

    vegetative: float
    flowering: float
    yield_formation: float
    ripening: float


def yield_loss(eta_mm: Values, etc_mm: Values | float, ky: Values | float) -> Values:
    """Return the share of the yield that a lack of water costs.

    Parameters
    ----------
    eta_mm
        Evapotranspiration that there was, over a growth period or the season [mm].
    etc_mm
        Evapotranspiration that there would have been without stress, over the same time [mm].
    ky
        Yield response factor of that time; 1 where it is not known [-].

    Returns
    -------
    float or array
        Loss between 0 and 1; nothing where nothing was asked for [-].

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, eq. 90, p. 176 to 177, from
    Doorenbos and Kassam (1979), FAO Irrigation and Drainage Paper 33.
    """
    missing = np.maximum(etc_mm - eta_mm, 0.0)
    asked = np.where(np.greater(etc_mm, 0.0), etc_mm, 1.0)
    loss: Values = np.minimum(ky * missing / asked, 1.0)
    return loss


def ky_on(day: Values, stage_days: tuple[int, int, int, int], ky: PeriodKy) -> Values:
    """Return how much a lack of water on a day weighs.

    The crop is taken to grow in its initial and development stage, to flower in the first half of
    mid-season, to fill in the second half, and to ripen in the late season.

    Parameters
    ----------
    day
        Days since planting [d].
    stage_days
        Lengths of the initial, development, mid-season and late-season stage [d].
    ky
        Response in each growth period [-].

    Returns
    -------
    float or array
        Yield response factor of the growth period; 0 when the crop does not stand [-].

    References
    ----------
    Doorenbos and Kassam (1979), FAO Irrigation and Drainage Paper 33, for the periods; how they
    fall on the stages of FAO-56 is from memory.
    """
    initial, development, mid, _ = stage_days
    grown = float(initial + development)
    ends = [grown, grown + 0.5 * mid, grown + mid]
    period = np.searchsorted(ends, day, side="right")
    by_period = np.array([ky.vegetative, ky.flowering, ky.yield_formation, ky.ripening])
    stands = np.greater_equal(day, 0.0) & np.less_equal(day, sum(stage_days))
    weight: Values = by_period[period] * stands
    return weight
