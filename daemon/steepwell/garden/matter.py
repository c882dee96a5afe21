"""How much plant matter a bucket holds, and how much of a vessel its solids take."""

from __future__ import annotations

from steepwell.garden.tables import reference_tables

LEAVES = "leaves"
BUCKET_L = 10.0
# What settles of a kilogram of plants once they are soft; from memory.
SETTLED_L_A_KG = 0.5
# What goes in where nobody said how much: a usual load, and for a top-up as much as can be pressed
# into the room there was.
USUAL_KG_L = 0.25
DENSEST_KG_L = 0.3


def bucket_kg(plant: str, *, packed: bool | None) -> float:
    """Return what a bucket of ten litres of a plant weighs.

    Parameters
    ----------
    plant
        Its name.
    packed
        Whether it was pressed down; None, if that is not known, counts as pressed [-].

    Returns
    -------
    float
        By the table of buckets [kg].
    """
    buckets = reference_tables().buckets
    row = buckets.get(plant, buckets[LEAVES])
    return row.loose if packed is False else row.packed
