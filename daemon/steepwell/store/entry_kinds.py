"""The kinds of journal entry."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal, Self

from pydantic import (
    AwareDatetime,
    BaseModel,
    ConfigDict,
    Field,
    StringConstraints,
    model_validator,
)

from steepwell.store.tasks import job_parts

ML_A_LITRE = 1000.0

_Text = Annotated[str, StringConstraints(min_length=1, max_length=80, strip_whitespace=True)]
_Amount = Annotated[float, Field(strict=True, gt=0, le=1_000_000, allow_inf_nan=False)]
_AmountOrNone = Annotated[float, Field(strict=True, ge=0, le=1_000_000, allow_inf_nan=False)]
_Celsius = Annotated[float, Field(strict=True, ge=-60, le=80, allow_inf_nan=False)]
_Number = Annotated[int, Field(strict=True, ge=1)]
_Job = Annotated[
    str, StringConstraints(pattern=r"^(water|feed)/[a-z0-9-]+/\d{4}-\d{2}-\d{2}$", max_length=60)
]


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class _Noted(_Strict):
    """What every entry has: when it happened, who says so, its number once it is in the journal."""

    at: AwareDatetime
    by: _Text = "gardener"
    id: _Number | None = Field(default=None, exclude=True)


class LevelRead(_Noted):
    """The water in a butt, read by hand [L]; by eye, if it is rough."""

    kind: Literal["level-read"] = "level-read"
    butt: _Text
    litres: _AmountOrNone
    rough: bool = False


class RainRead(_Noted):
    """A plastic gauge, read and emptied [mm since it was last read]."""

    kind: Literal["rain-read"] = "rain-read"
    mm: Annotated[float, Field(strict=True, ge=0, le=1000, allow_inf_nan=False)]


class TemperatureRead(_Noted):
    """A thermometer in a vessel or in the shade [°C]."""

    kind: Literal["temperature-read"] = "temperature-read"
    place: _Text
    celsius: _Celsius


class Matter(_Strict):
    """One plant that went into a vessel, and how much of it."""

    plant: _Text
    family: _Text | None = None
    buckets: _Amount | None = None
    packed: bool | None = None
    kg: _Amount | None = None
    healthy: bool = True


class SteepStarted(_Noted):
    """A vessel was filled with plant matter and rainwater [L]."""

    kind: Literal["steep-started"] = "steep-started"
    vessel: _Text
    matter: Annotated[tuple[Matter, ...], Field(min_length=1)]
    water_l: _Amount | None = None


class ToppedUp(_Noted):
    """Rainwater [L] went into a vessel, and perhaps more matter."""

    kind: Literal["topped-up"] = "topped-up"
    vessel: _Text
    litres: _Amount
    matter: tuple[Matter, ...] = ()


class Decanted(_Noted):
    """Liquid [L] was taken off a vessel and is kept under a label."""

    kind: Literal["decanted"] = "decanted"
    vessel: _Text
    litres: _Amount
    into: _Text


class ReadyConfirmed(_Noted):
    """The matter of a vessel was seen to be sunk and soft, its liquid coloured."""

    kind: Literal["ready-confirmed"] = "ready-confirmed"
    vessel: _Text


class TooStrong(_Noted):
    """The feed of a vessel scorched what it was given to."""

    kind: Literal["too-strong"] = "too-strong"
    vessel: _Text


class ConductivityMeasured(_Noted):
    """A meter in the undiluted liquid of a vessel [dS/m]."""

    kind: Literal["conductivity-measured"] = "conductivity-measured"
    vessel: _Text
    ds_m: Annotated[float, Field(strict=True, gt=0, le=200, allow_inf_nan=False)]


class VesselEmptied(_Noted):
    """A steep came to its end."""

    kind: Literal["vessel-emptied"] = "vessel-emptied"
    vessel: _Text


class DrawnOff(_Noted):
    """Liquid was taken from a vessel [L]."""

    kind: Literal["drawn-off"] = "drawn-off"
    vessel: _Text
    litres: _Amount


class Fed(_Noted):
    """A bed was given feed: so much of it [mL], thinned in so many cans."""

    kind: Literal["fed"] = "fed"
    bed: _Text
    vessel: _Text
    feed_ml: _Amount
    cans: _Amount


class Watered(_Noted):
    """A bed was given rainwater [L], from a butt if it is known which."""

    kind: Literal["watered"] = "watered"
    bed: _Text
    litres: _Amount
    butt: _Text | None = None


class Planted(_Noted):
    """A crop went into a bed, from seed or as young plants raised elsewhere."""

    kind: Literal["planted"] = "planted"
    bed: _Text
    crop: _Text
    transplanted: bool = False


class Cleared(_Noted):
    """A bed was cleared, and its crop was healthy or not."""

    kind: Literal["cleared"] = "cleared"
    bed: _Text
    healthy: bool = True


class Picking(_Noted):
    """Something was picked from a bed to be eaten."""

    kind: Literal["picking"] = "picking"
    bed: _Text


class LooksHungry(_Noted):
    """The crop of a bed is pale or stands still."""

    kind: Literal["looks-hungry"] = "looks-hungry"
    bed: _Text


class SicknessSeen(_Noted):
    """A sickness was seen in a bed, or found in the matter of a vessel."""

    kind: Literal["sickness-seen"] = "sickness-seen"
    sickness: _Text
    bed: _Text | None = None
    vessel: _Text | None = None


class BeanTest(_Noted):
    """Beans grown for three weeks with a feed and without: healthy, or twisted by weedkiller."""

    kind: Literal["bean-test"] = "bean-test"
    vessel: _Text
    outcome: Literal["healthy", "twisted"]


class Mulched(_Noted):
    """Mulch was laid on a bed: so thick [mm], on a share of it."""

    kind: Literal["mulched"] = "mulched"
    bed: _Text
    material: _Text
    depth_mm: Annotated[float, Field(strict=True, gt=0, le=500, allow_inf_nan=False)]
    cover: Annotated[float, Field(strict=True, gt=0, le=1)] = 1.0


class Restriction(_Noted):
    """Local orders bar water from a day on, to another or until withdrawn.

    ``hose`` leaves the can, ``tap`` leaves rainwater, ``watering`` leaves nothing.
    """

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True)

    kind: Literal["restriction"] = "restriction"
    first: Annotated[date, Field(alias="from")]
    last: Annotated[date | None, Field(alias="to")] = None
    bars: Annotated[tuple[Literal["tap", "hose", "watering"], ...], Field(min_length=1)]


class Away(_Noted):
    """The gardener is away from a day to another, and perhaps somebody waters meanwhile."""

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True)

    kind: Literal["away"] = "away"
    first: Annotated[date, Field(alias="from")]
    last: Annotated[date, Field(alias="to")]
    helper: _Text | None = None


class PutToBed(_Noted):
    """The garden rests for the winter: taps open, probes taken in."""

    kind: Literal["put-to-bed"] = "put-to-bed"


class Woken(_Noted):
    """The garden begins again after its rest."""

    kind: Literal["woken"] = "woken"


class TapWaterAdded(_Noted):
    """Tap water went into a butt [L]."""

    kind: Literal["tap-water-added"] = "tap-water-added"
    butt: _Text
    litres: _Amount


class FilledTo(_Noted):
    """Water was poured into a butt to measure it [L], and stands so high above its floor [mm]."""

    kind: Literal["filled-to"] = "filled-to"
    butt: _Text
    depth_mm: Annotated[float, Field(strict=True, ge=0, le=10_000, allow_inf_nan=False)]
    litres: _Amount


class ButtEmptied(_Noted):
    """A butt was emptied, to be cleaned or mended."""

    kind: Literal["butt-emptied"] = "butt-emptied"
    butt: _Text


class NotWatered(_Noted):
    """What left a butt, or all of them, on this day was no watering, though it looked like one."""

    kind: Literal["not-watered"] = "not-watered"
    butt: _Text | None = None


class _OfJob(_Noted):
    job: _Job

    @model_validator(mode="after")
    def _has_a_day(self) -> Self:
        try:
            job_parts(self.job)
        except ValueError:
            raise ValueError("a job with a day that is in the calendar") from None
        return self

    @property
    def bed(self) -> str:
        """The bed it is about."""
        return job_parts(self.job)[1]

    @property
    def day(self) -> date:
        """The day it was planned for."""
        return job_parts(self.job)[2]

    @property
    def what(self) -> str:
        """Whether it is about ``water`` or ``feed``."""
        return job_parts(self.job)[0]


class JobDone(_OfJob):
    """A line of the plan was done: the bed had rainwater [L], or cans of feed [mL a can]."""

    kind: Literal["job-done"] = "job-done"
    litres: _Amount | None = None
    butt: _Text | None = None
    vessel: _Text | None = None
    feed_ml: _Amount | None = None
    cans: _Amount | None = None

    @model_validator(mode="after")
    def _says_what_was_fed(self) -> Self:
        fed = (self.vessel, self.feed_ml, self.cans)
        if any(fed) and not all(fed):
            raise ValueError("vessel, feed_ml and cans together")
        return self

    def parts(self) -> tuple[Watered | Fed | DrawnOff, ...]:
        """Return what it writes: watered, fed and drawn off, under its own number."""
        told: list[Watered | Fed | DrawnOff] = []
        if self.litres is not None:
            told.append(
                Watered(at=self.at, by=self.by, bed=self.bed, litres=self.litres, butt=self.butt)
            )
        if self.vessel is not None and self.feed_ml is not None and self.cans is not None:
            fed = Fed(
                at=self.at,
                by=self.by,
                bed=self.bed,
                vessel=self.vessel,
                feed_ml=self.feed_ml,
                cans=self.cans,
            )
            litres = self.feed_ml * self.cans / ML_A_LITRE
            told += [
                fed,
                DrawnOff(at=self.at, by=self.by, vessel=self.vessel, litres=litres),
            ]
        return tuple(part.model_copy(update={"id": self.id}) for part in told)


class JobNotDone(_OfJob):
    """A line of the plan was not done, or its water went to another bed instead."""

    kind: Literal["job-not-done"] = "job-not-done"
    instead: _Text | None = None


class Corrected(_Noted):
    """An earlier entry was wrong and is withdrawn."""

    kind: Literal["corrected"] = "corrected"
    withdraws: _Number


Entry = Annotated[
    LevelRead
    | RainRead
    | TemperatureRead
    | SteepStarted
    | VesselEmptied
    | DrawnOff
    | ToppedUp
    | Decanted
    | ReadyConfirmed
    | TooStrong
    | ConductivityMeasured
    | Fed
    | Watered
    | Planted
    | Cleared
    | Picking
    | LooksHungry
    | SicknessSeen
    | BeanTest
    | Mulched
    | Restriction
    | Away
    | PutToBed
    | Woken
    | TapWaterAdded
    | FilledTo
    | ButtEmptied
    | NotWatered
    | JobDone
    | JobNotDone
    | Corrected,
    Field(discriminator="kind"),
]
