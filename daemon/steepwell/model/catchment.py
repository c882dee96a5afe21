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


def after_first_flush_mm(
    rain_mm: Array, *, flush_mm: float, dry_hours: float, step_hours: float = 1.0
) -> Array:
    """Return the rain that a first-flush diverter lets pass.

    Each event begins when it rains after so many dry hours, and its first rain, which washes the
    roof, is led away. Before the first step it was dry for long enough.

    Parameters
    ----------
    rain_mm
        Rain of successive steps along the first axis [mm].
    flush_mm
        Rain led away at the start of each event; litres of the diverter over the area of the
        roof [mm].
    dry_hours
        Time without rain after which the diverter is empty again [h].
    step_hours
        Length of a step; 24 for days [h].

    Returns
    -------
    array
        Rain that goes on to the butt, of the same shape [mm].

    Raises
    ------
    ValueError
        If the flush or the dry time is negative, or a step has no length.

    References
    ----------
    Conservation of water; that the first rain of an event is the dirty one: Martinson and Thomas
    (2005), 12th International Rainwater Catchment Systems Conference.
    """
    if min(flush_mm, dry_hours) < 0.0 or step_hours <= 0.0:
        raise ValueError(f"{flush_mm} mm after {dry_hours} h in steps of {step_hours} h cannot be")
    passed = np.empty_like(rain_mm)
    to_flush = np.full(rain_mm.shape[1:], flush_mm)
    dry_for = np.full(rain_mm.shape[1:], dry_hours)
    for step, rain in enumerate(rain_mm):
        rains = rain > 0.0
        to_flush = np.where(rains & (dry_for >= dry_hours), flush_mm, to_flush)
        dry_for = np.where(rains, 0.0, dry_for + step_hours)
        flushed = np.minimum(rain, to_flush)
        to_flush = to_flush - flushed
        passed[step] = rain - flushed
    return passed


def capped_l(inflow_l: Values, *, most_l_min: float, rain_hours: Values | float) -> Values:
    """Return what passes a downpipe or filter that takes only so much at a time.

    Parameters
    ----------
    inflow_l
        Water the roof delivers in a day or an event [L].
    most_l_min
        What passes in a minute at most [L/min].
    rain_hours
        How long it rained; a day's rain mostly falls in a few hours [h].

    Returns
    -------
    float or array
        Water that passes; the rest shoots over [L].

    Raises
    ------
    ValueError
        If nothing can pass, or it rains for less than no time.

    References
    ----------
    Conservation of water; rain taken as even over its hours, so a cloudburst is let through too
    well.
    """
    if most_l_min <= 0.0 or np.any(np.less(rain_hours, 0.0)):
        raise ValueError(f"{most_l_min} L a minute for {rain_hours} h cannot be")
    passed: Values = np.minimum(inflow_l, most_l_min * 60.0 * rain_hours)
    return passed


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
        here = volume[butt, ...]
        over = np.maximum(here - capacity, 0.0)
        np.minimum(here, capacity, out=here)
        if target == TO_GROUND:
            spilled[butt] = over
        elif butt < target <= last:
            there = volume[target, ...]
            there += over
        else:
            raise ValueError(f"butt {butt} of 0 to {last} cannot overflow into {target}")
    return volume, spilled
