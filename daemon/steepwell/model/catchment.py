"""From rain on a roof to water in the butts, and over the top of them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.model.values import Array, Values

TO_GROUND = -1


def runoff_l(
    rain_mm: Values,
    *,
    area_m2: float,
    share: float,
    runoff_coefficient: float,
    wetting_loss_mm: float = 0.3,
    filter_efficiency: float = 1.0,
) -> Values:
    """Return what a roof delivers to its butt.

    Parameters
    ----------
    rain_mm
        Rain of a day, or of one event [mm].
    area_m2
        Area of the roof in plan [m2].
    share
        Part of it that drains to this butt, 0 to 1 [-].
    runoff_coefficient
        Part of the rain beyond the loss that reaches the gutter's end, 0 to 1 [-].
    wetting_loss_mm
        Rain that only wets the roof and dries off again [mm].
    filter_efficiency
        Part that passes the filter in the downpipe, 0 to 1 [-].

    Returns
    -------
    float or array
        Inflow; 1 mm on 1 m2 is 1 L [L].

    Raises
    ------
    ValueError
        If the area or the loss is negative, or a share does not lie between 0 and 1.

    References
    ----------
    The definition of a millimetre of rain; the wetting loss is common practice, no source.
    """
    if min(area_m2, wetting_loss_mm) < 0.0:
        raise ValueError(f"area {area_m2} m2 and loss {wetting_loss_mm} mm cannot be negative")
    shares = (share, runoff_coefficient, filter_efficiency)
    if not all(0.0 <= part <= 1.0 for part in shares):
        raise ValueError(f"share, runoff coefficient and filter must lie in 0 to 1: {shares}")
    litres_a_mm = area_m2 * share * runoff_coefficient * filter_efficiency
    inflow: Values = np.maximum(rain_mm - wetting_loss_mm, 0.0) * litres_a_mm
    return inflow


def fill_and_spill(
    volume_l: Array, inflow_l: Array, *, capacity_l: Sequence[float], overflow_to: Sequence[int]
) -> tuple[Array, Array]:
    """Let water into butts that overflow into one another.

    Parameters
    ----------
    volume_l
        Water in each butt, the first axis being the butts in the order the water passes
        them [L].
    inflow_l
        Water that comes to each from its own roof, of the same shape [L].
    capacity_l
        What each holds when full [L].
    overflow_to
        Index of the butt that takes the overflow of each, or -1 for the ground [-].

    Returns
    -------
    volume_l : array
        Water in each butt afterwards [L].
    spilled_l : array
        Water that went to the ground from each butt; none where a later butt took it [L].

    Raises
    ------
    ValueError
        If a butt overflows into itself, into an earlier one or into one that is not there.

    References
    ----------
    Conservation of water.
    """
    last = len(capacity_l) - 1
    volume = volume_l + inflow_l
    spilled = np.zeros_like(volume)
    for butt, (capacity, target) in enumerate(zip(capacity_l, overflow_to, strict=True)):
        over = np.maximum(volume[butt] - capacity, 0.0)
        volume[butt] = np.minimum(volume[butt], capacity)
        if target == TO_GROUND:
            spilled[butt] = over
        elif butt < target <= last:
            volume[target] += over
        else:
            raise ValueError(f"butt {butt} of 0 to {last} cannot overflow into {target}")
    return volume, spilled
