"""Beds, what grows in them, and vessels."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Annotated, Literal, Self

from pydantic import AfterValidator, Field, model_validator

from steepwell.garden.base import MonthDay, Name, Part
from steepwell.garden.quantity import Hours, Litres, LitresOrNone, Metres, Share, SquareMetres
from steepwell.garden.tables import reference_tables


def _check_crop(name: str) -> str:
    reference_tables().crop(name)
    return name


def _check_soil(name: str) -> str:
    reference_tables().soil(name)
    return name


HOURS_A_DAY = 24.0
# Two weeks in a warm month, and never less than ten days: common practice, no source.
READY_AGE_D = 14.0
LEAST_DAYS = 10.0


def _check_rises(ladder: tuple[int, ...]) -> tuple[int, ...]:
    if any(lower >= upper for lower, upper in pairwise(ladder)):
        raise ValueError("the rungs of a ladder rise, for instance [30, 60, 100, 200, 400, 500]")
    return ladder


Rung = Annotated[int, Field(ge=1, le=2000)]
CropName = Annotated[str, AfterValidator(_check_crop)]


def _check_mulch(name: str) -> str:
    known = name.replace(" ", "-")
    reference_tables().mulch(known)
    return known


MulchName = Annotated[str, AfterValidator(_check_mulch)]
SoilName = Annotated[str, AfterValidator(_check_soil)]


class Growing(Part):
    """One crop in a bed, every year from one day to another."""

    crop: CropName
    planted: MonthDay
    cleared: MonthDay | None = None


class Mulch(Part):
    """What covers the soil all year round, because the gardener sees to it.

    Without a depth it is thick enough to cover it.
    """

    material: MulchName = "grass-clippings"
    depth: Metres | None = None
    cover: Share = 1.0


class Bed(Part):
    """Ground, pot, tray or greenhouse border with its crops; ``was`` is what it was called."""

    name: Name
    was: Name | None = None
    area: SquareMetres
    kind: Literal["ground", "pot", "tray", "greenhouse"] = "ground"
    soil: SoilName = "loam"
    crops: tuple[Growing, ...] = ()
    mulch: Mulch | None = None
    priority: Annotated[float, Field(gt=0, le=10)] = 1.0
    butt: Name | None = None

    @property
    def rained_on(self) -> bool:
        """Whether rain reaches it; trays, pots and greenhouse borders stay dry."""
        return self.kind == "ground"


class Vessel(Part):
    """A lidded container in which feed is made; ``was`` is what it was called before."""

    name: Name
    was: Name | None = None
    volume: Litres
    headspace: LitresOrNone | None = None
    insulation: Literal["none", "jacketed", "sunk"] = "none"
    lid: Literal["loose", "open"] = "loose"
    ready_after: Hours | None = None
    ladder: (
        Annotated[tuple[Rung, ...], Field(min_length=1), AfterValidator(_check_rises)] | None
    ) = None

    @model_validator(mode="after")
    def _has_room(self) -> Self:
        if self.headspace is not None and self.headspace >= self.volume:
            raise ValueError("headspace is the room above the liquid: less than the volume")
        return self

    @property
    def surface_m2(self) -> float:
        """The surface of its liquid, of an upright cylinder as wide as it is high [m²]."""
        return math.pi / 4 * math.pow(4 * self.volume / 1000 / math.pi, 2 / 3)

    @property
    def ready_age_d(self) -> float:
        """The age at 17 °C from which its feed may be used: its owner's, else two weeks [d]."""
        return READY_AGE_D if self.ready_after is None else self.ready_after / HOURS_A_DAY

    @property
    def least_days(self) -> float:
        """Days that must have passed however warm it was [d]."""
        return min(LEAST_DAYS, self.ready_age_d)

    @property
    def liquid_l(self) -> float:
        """The liquid it holds when filled to its headspace [L]; a tenth stays free by default."""
        return self.volume - (self.volume / 10 if self.headspace is None else self.headspace)
