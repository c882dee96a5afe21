"""How much of the water that is given reaches the crop."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from steepwell.model.evaporation import evaporation_coefficient

if TYPE_CHECKING:
    from steepwell.outlook.demand import BedDays

WEEK_D = 7
# Who waters seedlings waters the rows and not the ground between; from memory.
LEAST_REACHES = 0.6

Array = NDArray[np.float64]


def reaches(asked: BedDays, weeks: int, open_beds: NDArray[np.bool_]) -> Array:
    """Return the share of water given that crops get.

    While the surface is wet, crop and surface draw on it side by side: of water given to seedlings
    on open ground the sun takes most, of water under a closed canopy hardly any.

    Parameters
    ----------
    asked
        What the beds ask of the soil day by day.
    weeks
        How many weeks of it [-].
    open_beds
        Which beds count.

    Returns
    -------
    array
        Means over the weeks; (beds, weeks) [-].

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, eq. 69 and 71, p. 135 and 142.
    """
    days = slice(weeks * WEEK_D), open_beds
    kcb = asked.kcb[days]
    ke = evaporation_coefficient(
        np.ones_like(kcb),
        kcb=kcb,
        kc_max=asked.kc_max[days],
        exposed=asked.exposed[days],
        mulch_cover=asked.cover[days],
    )
    share = np.maximum(kcb / (kcb + ke), LEAST_REACHES)
    means: Array = share.reshape(weeks, WEEK_D, -1).mean(axis=1).T
    return means
