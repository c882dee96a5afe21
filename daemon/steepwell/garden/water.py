"""Roofs, butts and the can: where rainwater comes from and where it is kept."""

from __future__ import annotations

from functools import cached_property
from itertools import pairwise
from typing import Annotated, Literal, Self

from pydantic import AfterValidator, Field, model_validator

from steepwell.garden.base import Name, Part
from steepwell.garden.quantity import (
    Hours,
    Litres,
    LitresAMinute,
    LitresOrNone,
    Metres,
    Share,
    SquareMetres,
    WaterMillimetres,
)
from steepwell.garden.tables import reference_tables
from steepwell.model.geometry import Box, ConeFrustum, Labelled, Shape, UprightCylinder
from steepwell.model.geometry_curved import Barrel, HorizontalCylinder, StrappingTable


def _check_roof_kind(name: str) -> str:
    reference_tables().roof(name)
    return name


RoofKind = Annotated[str, AfterValidator(_check_roof_kind)]


class Roof(Part):
    """A catchment and the butt it feeds.

    Its runoff coefficient is the one given, else the one of its kind, else 0.85. A first-flush
    diverter leads away the first litres of each rain that comes after so many dry hours; no more
    than ``flow_cap`` passes the diverter or filter in a minute.
    """

    name: Name
    area: SquareMetres
    into: Name
    kind: RoofKind | None = None
    share: Share = 1.0
    runoff: Share = 0.85
    wetting_loss: WaterMillimetres = 0.3
    first_flush: LitresOrNone = 0.0
    first_flush_after: Hours = 24.0
    flow_cap: LitresAMinute | None = None
    filter_efficiency: Share = 1.0

    @model_validator(mode="before")
    @classmethod
    def _runs_off_by_its_kind(cls, said: object) -> object:
        if not isinstance(said, dict) or "runoff" in said:
            return said
        found = reference_tables().roofs.get(str(said.get("kind")))
        return said if found is None else {**said, "runoff": found.runoff}

    @model_validator(mode="after")
    def _flushes_something(self) -> Self:
        if "first_flush_after" in self.model_fields_set and "first_flush" not in (
            self.model_fields_set
        ):
            raise ValueError(
                "first_flush_after goes with first_flush, the litres that are led away"
            )
        return self


class UprightCylinderShape(Part):
    """A butt as wide at the top as at the bottom."""

    kind: Literal["upright cylinder"]
    diameter: Metres
    height: Metres

    def geometry(self) -> Shape:
        """Return the shape the model computes with."""
        return UprightCylinder(diameter_m=self.diameter, height_m=self.height)


class ConeFrustumShape(Part):
    """A butt that widens or narrows evenly."""

    kind: Literal["cone frustum"]
    bottom_diameter: Metres
    top_diameter: Metres
    height: Metres

    def geometry(self) -> Shape:
        """Return the shape the model computes with."""
        return ConeFrustum(
            bottom_diameter_m=self.bottom_diameter,
            top_diameter_m=self.top_diameter,
            height_m=self.height,
        )


class BoxShape(Part):
    """A butt with straight sides and a rectangular floor."""

    kind: Literal["box"]
    length: Metres
    width: Metres
    height: Metres

    def geometry(self) -> Shape:
        """Return the shape the model computes with."""
        return Box(length_m=self.length, width_m=self.width, height_m=self.height)


class HorizontalCylinderShape(Part):
    """A drum on its side."""

    kind: Literal["horizontal cylinder"]
    diameter: Metres
    length: Metres

    def geometry(self) -> Shape:
        """Return the shape the model computes with."""
        return HorizontalCylinder(diameter_m=self.diameter, length_m=self.length)


class BarrelShape(Part):
    """A barrel with curved staves."""

    kind: Literal["barrel"]
    end_diameter: Metres
    middle_diameter: Metres
    height: Metres

    @model_validator(mode="after")
    def _bulges(self) -> Self:
        if self.middle_diameter < self.end_diameter:
            raise ValueError("a barrel is at least as wide in the middle as at its ends")
        return self

    def geometry(self) -> Shape:
        """Return the shape the model computes with."""
        return Barrel(
            end_diameter_m=self.end_diameter,
            middle_diameter_m=self.middle_diameter,
            height_m=self.height,
        )


class StrappingTableShape(Part):
    """A butt measured can by can: litres at each depth."""

    kind: Literal["strapping table"]
    depths: Annotated[tuple[Metres, ...], Field(min_length=1)]
    litres: Annotated[tuple[Litres, ...], Field(min_length=1)]

    @model_validator(mode="after")
    def _rises(self) -> Self:
        if len(self.depths) != len(self.litres):
            raise ValueError("a strapping table has as many depths as litres")
        for column, name in ((self.depths, "depths"), (self.litres, "litres")):
            if any(low >= high for low, high in pairwise(column)):
                raise ValueError(f"the {name} of a strapping table rise from line to line")
        return self

    def geometry(self) -> Shape:
        """Return the shape the model computes with."""
        return StrappingTable(depths_m=(0.0, *self.depths), volumes_l=(0.0, *self.litres))


ButtShape = Annotated[
    UprightCylinderShape
    | ConeFrustumShape
    | BoxShape
    | HorizontalCylinderShape
    | BarrelShape
    | StrappingTableShape,
    Field(discriminator="kind"),
]


class Butt(Part):
    """A rainwater store; ``was`` is what it was called before."""

    name: Name
    was: Name | None = None
    litres: Litres | None = None
    shape: ButtShape | None = None
    dead_volume: LitresOrNone = 0.0
    overflow_to: Name | None = None

    @model_validator(mode="after")
    def _is_possible(self) -> Self:
        if (self.litres is None) == (self.shape is None):
            raise ValueError('give either the litres on the label ("210 L") or a shape')
        if self.dead_volume >= self.capacity_l:
            raise ValueError(
                f"dead_volume is the water below the tap: less than all {self.capacity_l:.0f} L"
            )
        return self

    @cached_property
    def geometry(self) -> Shape:
        """The shape the model computes with."""
        if self.shape is not None:
            return self.shape.geometry()
        return Labelled(capacity_l=self.litres or 0.0)

    @cached_property
    def capacity_l(self) -> float:
        """What it holds when full [L]."""
        return self.geometry.capacity_l


class Can(Part):
    """The watering can."""

    size: Annotated[Litres, Field(ge=1.0)] = 9.0


class Tap(Part):
    """Mains water."""

    available: Literal["yes", "no", "unknown"] = "unknown"


class Lawn(Part):
    """Where clippings for mulch come from."""

    area: SquareMetres
    treated: bool
