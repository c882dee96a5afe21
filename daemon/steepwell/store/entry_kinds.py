"""The kinds of journal entry."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal, Self

from pydantic import (
    ConfigDict,
    Field,
    model_validator,
)

from steepwell.store.entry_base import (
    ML_A_LITRE,
    Amount,
    AmountOrNone,
    Celsius,
    JobName,
    Matter,
    Noted,
    NoticeName,
    Number,
    Text,
)
from steepwell.store.tasks import job_parts
from steepwell.words.saying import say


class LevelRead(Noted):
    """The water in a butt, read by hand [L]; by eye, if it is rough."""

    kind: Literal["level-read"] = "level-read"
    butt: Text
    litres: AmountOrNone
    rough: bool = False


class RainRead(Noted):
    """A plastic gauge, read and emptied [mm since it was last read]."""

    kind: Literal["rain-read"] = "rain-read"
    mm: Annotated[float, Field(strict=True, ge=0, le=1000, allow_inf_nan=False)]


class TemperatureRead(Noted):
    """A thermometer in a vessel or in the shade [°C]."""

    kind: Literal["temperature-read"] = "temperature-read"
    place: Text
    celsius: Celsius


class SteepStarted(Noted):
    """A vessel was filled with plant matter and rainwater [L]."""

    kind: Literal["steep-started"] = "steep-started"
    vessel: Text
    matter: Annotated[tuple[Matter, ...], Field(min_length=1)]
    water_l: Amount | None = None


class ToppedUp(Noted):
    """Rainwater [L] went into a vessel, and perhaps more matter."""

    kind: Literal["topped-up"] = "topped-up"
    vessel: Text
    litres: Amount
    matter: tuple[Matter, ...] = ()


class Decanted(Noted):
    """Liquid [L] was taken off a vessel and is kept under a label."""

    kind: Literal["decanted"] = "decanted"
    vessel: Text
    litres: Amount
    into: Text


class ReadyConfirmed(Noted):
    """The matter of a vessel was seen to be sunk and soft, its liquid coloured."""

    kind: Literal["ready-confirmed"] = "ready-confirmed"
    vessel: Text


class TooStrong(Noted):
    """The feed of a vessel scorched what it was given to."""

    kind: Literal["too-strong"] = "too-strong"
    vessel: Text


class ConductivityMeasured(Noted):
    """A meter in the undiluted liquid of a vessel [dS/m]."""

    kind: Literal["conductivity-measured"] = "conductivity-measured"
    vessel: Text
    ds_m: Annotated[float, Field(strict=True, gt=0, le=200, allow_inf_nan=False)]


class VesselEmptied(Noted):
    """A steep came to its end."""

    kind: Literal["vessel-emptied"] = "vessel-emptied"
    vessel: Text


class DrawnOff(Noted):
    """Liquid was taken from a vessel [L]."""

    kind: Literal["drawn-off"] = "drawn-off"
    vessel: Text
    litres: Amount


class Fed(Noted):
    """A bed was given feed: so much of it [mL], thinned in so many cans."""

    kind: Literal["fed"] = "fed"
    bed: Text
    vessel: Text
    feed_ml: Amount
    cans: Amount


class Watered(Noted):
    """A bed was given rainwater [L], from a butt if it is known which."""

    kind: Literal["watered"] = "watered"
    bed: Text
    litres: Amount
    butt: Text | None = None


class Planted(Noted):
    """A crop went into a bed, from seed or as young plants raised elsewhere."""

    kind: Literal["planted"] = "planted"
    bed: Text
    crop: Text
    transplanted: bool = False


class Cleared(Noted):
    """A bed was cleared, and its crop was healthy or not."""

    kind: Literal["cleared"] = "cleared"
    bed: Text
    healthy: bool = True


class Picking(Noted):
    """Something was picked from a bed to be eaten."""

    kind: Literal["picking"] = "picking"
    bed: Text


class LooksHungry(Noted):
    """The crop of a bed is pale or stands still."""

    kind: Literal["looks-hungry"] = "looks-hungry"
    bed: Text


class SicknessSeen(Noted):
    """A sickness was seen in a bed, or found in the matter of a vessel."""

    kind: Literal["sickness-seen"] = "sickness-seen"
    sickness: Text
    bed: Text | None = None
    vessel: Text | None = None


class BeanTest(Noted):
    """Beans grown for three weeks with a feed and without: healthy, or twisted by weedkiller."""

    kind: Literal["bean-test"] = "bean-test"
    vessel: Text
    outcome: Literal["healthy", "twisted"]


class Mulched(Noted):
    """Mulch was laid on a bed: so thick [mm], on a share of it."""

    kind: Literal["mulched"] = "mulched"
    bed: Text
    material: Text
    depth_mm: Annotated[float, Field(strict=True, gt=0, le=500, allow_inf_nan=False)]
    cover: Annotated[float, Field(strict=True, gt=0, le=1)] = 1.0


class Restriction(Noted):
    """Local orders bar water from a day on, to another or until withdrawn.

    ``hose`` leaves the can, ``tap`` leaves rainwater, ``watering`` leaves nothing.
    """

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True)

    kind: Literal["restriction"] = "restriction"
    first: Annotated[date, Field(alias="from")]
    last: Annotated[date | None, Field(alias="to")] = None
    bars: Annotated[tuple[Literal["tap", "hose", "watering"], ...], Field(min_length=1)]


class Away(Noted):
    """The gardener is away from a day to another, and perhaps somebody waters meanwhile."""

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True)

    kind: Literal["away"] = "away"
    first: Annotated[date, Field(alias="from")]
    last: Annotated[date, Field(alias="to")]
    helper: Text | None = None


class PutToBed(Noted):
    """The garden rests for the winter: taps open, probes taken in."""

    kind: Literal["put-to-bed"] = "put-to-bed"


class Woken(Noted):
    """The garden begins again after its rest."""

    kind: Literal["woken"] = "woken"


class TapWaterAdded(Noted):
    """Tap water went into a butt [L]."""

    kind: Literal["tap-water-added"] = "tap-water-added"
    butt: Text
    litres: Amount


class FilledTo(Noted):
    """Water was poured into a butt to measure it [L], and stands so high above its floor [mm]."""

    kind: Literal["filled-to"] = "filled-to"
    butt: Text
    depth_mm: Annotated[float, Field(strict=True, ge=0, le=10_000, allow_inf_nan=False)]
    litres: Amount


class ButtEmptied(Noted):
    """A butt was emptied, to be cleaned or mended."""

    kind: Literal["butt-emptied"] = "butt-emptied"
    butt: Text


class NotWatered(Noted):
    """What left a butt, or all of them, on this day was no watering, though it looked like one."""

    kind: Literal["not-watered"] = "not-watered"
    butt: Text | None = None


class _OfJob(Noted):
    job: JobName

    @model_validator(mode="after")
    def _has_a_day(self) -> Self:
        try:
            job_parts(self.job)
        except ValueError:
            raise ValueError(say("refused.no-job-day")) from None
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
    litres: Amount | None = None
    butt: Text | None = None
    vessel: Text | None = None
    feed_ml: Amount | None = None
    cans: Amount | None = None

    @model_validator(mode="after")
    def _says_what_was_fed(self) -> Self:
        fed = (self.vessel, self.feed_ml, self.cans)
        if any(fed) and not all(fed):
            raise ValueError(say("refused.fed-together"))
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
    instead: Text | None = None


class Answered(Noted):
    """What the gardener says to a notice.

    ``seen`` ends its reminders, ``later`` puts it off until a day, ``no-more`` wants nothing of it
    until it changes.
    """

    kind: Literal["answered"] = "answered"
    notice: NoticeName
    answer: Literal["seen", "later", "no-more"]
    until: date | None = None


class Corrected(Noted):
    """An earlier entry was wrong and is withdrawn."""

    kind: Literal["corrected"] = "corrected"
    withdraws: Number


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
    | Answered
    | Corrected,
    Field(discriminator="kind"),
]
