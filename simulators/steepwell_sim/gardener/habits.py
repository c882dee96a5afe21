"""Rules by which a gardener waters without being told."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from collections.abc import Sequence

Habit = Literal["weekly", "ignores", "follows"]

WEEKLY_ON = 5  # Saturday
WEEKLY_L_M2 = 15.0
ENOUGH_RAIN_MM = 10.0
MOIST_MM = 7.5


@dataclass(frozen=True, slots=True)
class BedSeen:
    """A bed as a gardener sees it in the evening.

    Attributes
    ----------
    name
        Of the bed.
    area_m2
        Its area [m²].
    priority
        The gardener's own.
    container
        Whether it is a pot or a tray, which is watered every day.
    rained_on
        Whether rain reaches it.
    depletion_mm
        What its soil lacks [mm].
    """

    name: str
    area_m2: float
    priority: float
    container: bool
    rained_on: bool
    depletion_mm: float


@dataclass(frozen=True, slots=True)
class Want:
    """Water a gardener means to give a bed.

    Attributes
    ----------
    bed
        The bed.
    litres
        How much [L].
    butt
        Where to draw it first; None for the bed's own butt, or the fullest.
    tap
        Whether it comes from the tap instead.
    """

    bed: str
    litres: float
    butt: str | None = None
    tap: bool = False


def wants(
    habit: Literal["weekly", "ignores"],
    beds: Sequence[BedSeen],
    *,
    weekday: int,
    rain_mm: float,
    can_l: float,
) -> list[Want]:
    """Return what a gardener means to water this evening, in this order.

    Parameters
    ----------
    habit
        ``ignores`` makes good every bed's need each evening; ``weekly`` gives 15 L/m² on Saturdays,
        favourites first, and passes over a bed on which enough rain fell or which is moist still.
        Pots and trays get their need every evening either way.
    beds
        Those with a crop.
    weekday
        0 is Monday.
    rain_mm
        Rain of the last three days [mm].
    can_l
        Size of the watering can [L]; it is carried full or half full.

    Returns
    -------
    list of Want
        Each at least half a can.
    """
    if habit == "ignores":
        meant = [(bed, bed.depletion_mm * bed.area_m2) for bed in beds]
    else:
        meant = [(bed, bed.depletion_mm * bed.area_m2) for bed in beds if bed.container]
        if weekday == WEEKLY_ON:
            meant += [
                (bed, WEEKLY_L_M2 * bed.area_m2)
                for bed in sorted(beds, key=lambda bed: -bed.priority)
                if not bed.container
                and bed.depletion_mm >= MOIST_MM
                and not (bed.rained_on and rain_mm >= ENOUGH_RAIN_MM)
            ]
    in_cans = ((bed.name, half_cans(litres, can_l)) for bed, litres in meant)
    return [Want(name, litres) for name, litres in in_cans if litres > 0]


def half_cans(litres: float, can_l: float) -> float:
    """Return an amount in whole and half cans, rounded [L]."""
    return math.floor(2 * litres / can_l + 0.5) * can_l / 2
