"""What all kinds of journal entry are made of."""

from __future__ import annotations

from typing import Annotated

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field, StringConstraints

ML_A_LITRE = 1000.0

Text = Annotated[str, StringConstraints(min_length=1, max_length=80, strip_whitespace=True)]
Amount = Annotated[float, Field(strict=True, gt=0, le=1_000_000, allow_inf_nan=False)]
AmountOrNone = Annotated[float, Field(strict=True, ge=0, le=1_000_000, allow_inf_nan=False)]
Celsius = Annotated[float, Field(strict=True, ge=-60, le=80, allow_inf_nan=False)]
Number = Annotated[int, Field(strict=True, ge=1)]
JobName = Annotated[
    str, StringConstraints(pattern=r"^(water|feed)/[a-z0-9-]+/\d{4}-\d{2}-\d{2}$", max_length=60)
]
NoticeName = Annotated[str, StringConstraints(pattern=r"^[a-z-]{1,40}/[a-z0-9-]{1,40}$")]


class Strict(BaseModel):
    """What says no more than its fields, and is not changed."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class Noted(Strict):
    """What every entry has: when it happened, who says so, its number once it is in the journal."""

    at: AwareDatetime
    by: Text = "gardener"
    id: Number | None = Field(default=None, exclude=True)


class Matter(Strict):
    """One plant that went into a vessel, and how much of it."""

    plant: Text
    family: Text | None = None
    buckets: Amount | None = None
    packed: bool | None = None
    kg: Amount | None = None
    healthy: bool = True
