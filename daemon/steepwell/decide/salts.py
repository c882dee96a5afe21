"""Who is tender to salt, and how much of it a can of feed carries: an estimate, and said to be."""

from __future__ import annotations

from typing import TYPE_CHECKING

from steepwell.garden.tables import reference_tables

if TYPE_CHECKING:
    from steepwell.garden.growing import Bed

# Undiluted ferments of plants: 25 to 33 dS/m (Phibunwatthanawong and Riddech 2019); the upper end.
UNDILUTED_DS_M = 33.0
# Rainwater out of a butt; from memory.
RAINWATER_DS_M = 0.1
# FAO-29, Table 1: no harm below 0.7 dS/m, little up to 3. Between them: a caution of our own.
MOST_FOR_TENDER_DS_M = 1.0
MOST_DS_M = 2.0


def is_tender(bed: Bed, crop: str) -> bool:
    """Return whether a bed has its feed one step thinner: seedlings in trays, and tender crops.

    Parameters
    ----------
    bed
        The bed.
    crop
        What stands there.

    Returns
    -------
    bool
        True for either.
    """
    return bed.kind == "tray" or crop in reference_tables().salt_tender


def too_salty(dilution_parts: float, *, tender: bool) -> float | None:
    """Return how salty a can of feed may be, where that is too much.

    Parameters
    ----------
    dilution_parts
        Parts of water to one of feed [-].
    tender
        Whether it is for what is tender to salt.

    Returns
    -------
    float or None
        Its conductivity, by estimate [dS/m]; None if it does no harm.
    """
    mixed = (UNDILUTED_DS_M + dilution_parts * RAINWATER_DS_M) / (1.0 + dilution_parts)
    most = MOST_FOR_TENDER_DS_M if tender else MOST_DS_M
    return mixed if mixed > most else None
