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


def after_first_flush(amount: Array, at_h: Array, *, flush: float, dry_hours: float) -> Array:
    """Return what is left of each rain once its beginning is gone.

    An event begins with an hour of rain that comes after so many dry hours. What the first rain of
    an event fills must be full before any passes: a first-flush diverter, or the wet surface of
    the roof itself. Before the first hour it was dry for long enough.

    Parameters
    ----------
    amount
        Rain of those hours in which it rained, in order of time, as a depth or as what it brought
        down the pipe [mm or L].
    at_h
        When each of these hours begins; whole hours, rising [h].
    flush
        What is led away or held back at the start of each event, as ``amount`` [mm or L].
    dry_hours
        Time without rain after which the diverter is empty or the roof dry again [h].

    Returns
    -------
    array
        What goes on in each of the hours [mm or L].

    Raises
    ------
    ValueError
        If the flush or the dry time is negative, or the hours do not rise.

    References
    ----------
    Conservation of water; that the first rain of an event is the dirty one: Martinson and Thomas
    (2005), 12th International Rainwater Catchment Systems Conference.
    """
    gap_h = np.diff(at_h) - 1.0
    if min(flush, dry_hours) < 0.0 or np.any(gap_h < 0.0):
        raise ValueError(f"{flush} led away after {dry_hours} h, or hours out of order, cannot be")
    if not len(amount):
        return amount
    begins = np.concatenate([[True], gap_h >= dry_hours])
    so_far = np.cumsum(amount)
    before_event = (so_far - amount)[begins][np.cumsum(begins) - 1]
    in_event = so_far - before_event
    passed: Array = np.maximum(in_event - flush, 0.0) - np.maximum(in_event - amount - flush, 0.0)
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


def share_below_cap(most_mm_h: Values, *, mean_mm_h: float) -> Values:
    """Return the part of the rain of many showers that falls no harder than a pipe can take.

    For days of which only the sum is known; what falls harder loses only what is too much.

    Parameters
    ----------
    most_mm_h
        Intensity of rain at which all that can pass does [mm/h].
    mean_mm_h
        Mean intensity while it rains [mm/h].

    Returns
    -------
    float or array
        Part of the rain that passes, 0 to 1 [-].

    Raises
    ------
    ValueError
        If nothing can pass, or it rains at no intensity.

    References
    ----------
    Mean of the lesser of the intensity and the cap, where intensities are spread exponentially
    about their mean; that they nearly are is from memory.
    """
    if mean_mm_h <= 0.0 or np.any(np.less_equal(most_mm_h, 0.0)):
        raise ValueError(f"{most_mm_h} mm an hour where {mean_mm_h} mm an hour fall cannot be")
    share: Values = -np.expm1(-np.divide(most_mm_h, mean_mm_h))
    return share


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
    # Most days fill no butt, and looking at all of them at once is soon done.
    fullest = volume.max(axis=tuple(range(1, volume.ndim)), initial=0.0)
    for butt, (capacity, target) in enumerate(zip(capacity_l, overflow_to, strict=True)):
        if target != TO_GROUND and not butt < target <= last:
            raise ValueError(f"butt {butt} of 0 to {last} cannot overflow into {target}")
        if fullest[butt] <= capacity:
            continue
        here = volume[butt, ...]
        over = np.maximum(here - capacity, 0.0)
        np.minimum(here, capacity, out=here)
        if target == TO_GROUND:
            spilled[butt] = over
        else:
            there = volume[target, ...]
            there += over
            fullest[target] = np.inf
    return volume, spilled
