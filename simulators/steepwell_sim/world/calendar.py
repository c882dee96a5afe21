"""What grows in a bed on a day, and at which stage it is."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING

from steepwell.garden.tables import Crop, reference_tables

if TYPE_CHECKING:
    from collections.abc import Iterable

    from steepwell.garden.growing import Growing

FULL_CANOPY = 3.0
_CANOPY_AT_END = 2.0


@dataclass(frozen=True, slots=True)
class Planting:
    """One crop from planting to clearing; on the day of clearing it is gone."""

    name: str
    planted: date
    cleared: date

    @property
    def crop(self) -> Crop:
        """Its figures."""
        return reference_tables().crop(self.name)


@dataclass(frozen=True, slots=True)
class Stage:
    """A crop on a day.

    Attributes
    ----------
    kc, kcb
        Crop coefficient, and its part that is transpiration.
    root_m
        Depth of the roots [m].
    canopy
        Leaf area per area of ground.
    """

    kc: float
    kcb: float
    root_m: float
    canopy: float


def plantings(growing: Iterable[Growing], first_year: int, last_year: int) -> list[Planting]:
    """Return every planting of a bed that is planted in certain years.

    Parameters
    ----------
    growing
        The crops of the bed; one without a day of clearing stands as long as its stages last.
    first_year, last_year
        Calendar years, both included.

    Returns
    -------
    list of Planting
        In the order of planting.
    """
    found = []
    for one in growing:
        for year in range(first_year, last_year + 1):
            planted = _day_of(year, one.planted)
            if one.cleared is None:
                days = sum(reference_tables().crop(one.crop).stage_days)
                cleared = planted + timedelta(days=days)
            else:
                cleared = _day_of(year, one.cleared)
                if cleared <= planted:
                    cleared = _day_of(year + 1, one.cleared)
            found.append(Planting(one.crop, planted, cleared))
    return sorted(found, key=lambda planting: planting.planted)


def _day_of(year: int, month_day: str) -> date:
    month, day = (int(part) for part in month_day.split("-"))
    if (month, day) == (2, 29):
        return date(year, 3, 1) - timedelta(days=1)
    return date(year, month, day)


def stage_on(crop: Crop, day: int) -> Stage:
    """Return a crop so many days after planting.

    Parameters
    ----------
    crop
        Its figures.
    day
        Days since planting; after its last stage a crop stays as it ended.

    Returns
    -------
    Stage
        Coefficients, roots and leaves.

    References
    ----------
    FAO-56 (Allen et al. 1998), eq. 66, p. 132: straight lines between the stages. Roots are full
    grown when mid-season begins (p. 279). A leaf area of 3 at full canopy, from memory.
    """
    initial, development, middle, late = crop.stage_days
    marks = (0, initial, initial + development, initial + development + middle)
    ends = (*marks[1:], marks[3] + late)
    knots = (
        (marks[1], crop.kc[0], crop.kcb[0], 0.0),
        (marks[2], crop.kc[1], crop.kcb[1], FULL_CANOPY),
        (marks[3], crop.kc[1], crop.kcb[1], FULL_CANOPY),
        (ends[3], crop.kc[2], crop.kcb[2], _CANOPY_AT_END),
    )
    kc, kcb, canopy = _along(knots, day)
    grown = min(1.0, day / marks[2]) if marks[2] else 1.0
    root_m = crop.root_m[0] + (crop.root_m[1] - crop.root_m[0]) * grown
    return Stage(kc=kc, kcb=kcb, root_m=root_m, canopy=canopy)


def _along(
    knots: tuple[tuple[int, float, float, float], ...], day: int
) -> tuple[float, float, float]:
    if day <= knots[0][0]:
        return knots[0][1:]
    for left, right in pairwise(knots):
        if day < right[0]:
            along = (day - left[0]) / (right[0] - left[0])
            kc, kcb, canopy = (
                low + (high - low) * along for low, high in zip(left[1:], right[1:], strict=True)
            )
            return kc, kcb, canopy
    return knots[-1][1:]
