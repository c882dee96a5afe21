"""The outlook and the plan as documents: what stands under each key, and in which unit."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

Share = Annotated[float, Field(ge=0, le=1)]
NotNegative = Annotated[float, Field(ge=0)]
SchemaOne = Annotated[Literal[1], Field(alias="schema")]


class Document(BaseModel):
    """Part of a document: values never change, keys of a later version are passed over."""

    model_config = ConfigDict(frozen=True, validate_by_name=True, validate_by_alias=True)


class Fan(Document):
    """Quantiles for each day."""

    p05: list[float]
    p10: list[float]
    p25: list[float]
    p50: list[float]
    p75: list[float]
    p90: list[float]
    p95: list[float]


class Middle(Document):
    """The median for each day or of the whole horizon."""

    p50: list[float] | float


class Spread(Document):
    """Three quantiles of one figure."""

    p10: float
    p50: float
    p90: float


class DayRange(Document):
    """Three quantiles of a day; None where it lies beyond the horizon."""

    p10: date | None
    p50: date | None
    p90: date | None


class DaysAway(Document):
    """Three quantiles of a wait in decimal days; None where it outlasts the horizon."""

    p10: float | None
    p50: float | None
    p90: float | None


class ReadyRange(DayRange):
    """When a vessel is ready, as days and as decimal days from the issue."""

    in_d: DaysAway


class ButtAhead(Document):
    """One butt in the days ahead."""

    name: str
    capacity_l: NotNegative
    now_l: NotNegative
    volume_l: Fan
    p_empty: list[Share]
    p_overflow: list[Share]


class WaterAhead(Document):
    """All rainwater in the days ahead.

    ``p_dry`` is the chance to be dry on each day, ``p_dry_by`` to have been dry by then, which an
    outlook of an earlier version does not tell.
    """

    volume_l: Fan
    p_dry: list[Share]
    p_dry_by: list[Share] = []
    dry_by: DayRange
    wanted_l: Middle
    shortfall_l: Spread
    spilled_l: Middle


class BedAhead(Document):
    """One bed: how much water its soil lacks now, and whether it suffers in the days ahead."""

    name: str
    depletion_mm: float
    readily_available_mm: float
    p_stress: list[Share]


class VesselAhead(Document):
    """One vessel: how warm it is and when its liquid may be used.

    Of ``usable_most_l`` all but ``usable_l`` counts as drawn though nobody noted it.
    """

    name: str
    temperature_c: float | None
    thermal_age_d: float | None
    dilution_parts: float | None
    ready: ReadyRange | None
    dilution_on: dict[date, Spread]
    rung_on: dict[date, dict[int, Share]] = {}
    started: date | None = None
    ready_since: date | None = None
    usable_l: NotNegative | None = None
    usable_most_l: NotNegative | None = None
    ended: bool = False


class RainCompared(Document):
    """The rain of the last 1, 3 or 6 months against the record."""

    months: Literal[1, 3, 6]
    rain_mm: NotNegative
    usual_mm: NotNegative | None
    spi: float | None
    wetness: str | None
    driest_since: int | None


class Dryness(Document):
    """How dry it has been up to yesterday."""

    days_below_1_mm: int
    days_below_0_2_mm: int
    longest_dry_run_d: int
    rain: list[RainCompared]


class Outlook(Document):
    """A forecast: many futures of the garden, summarised for each day at its end."""

    schema_version: SchemaOne
    issued: datetime
    garden: str
    members: int
    days: Annotated[list[date], Field(min_length=1)]
    butts: list[ButtAhead]
    water: WaterAhead
    beds: list[BedAhead]
    vessels: list[VesselAhead]
    dryness: Dryness | None = None

    @property
    def now_l(self) -> float:
        """What all butts hold now [L]."""
        return sum(butt.now_l for butt in self.butts)

    @property
    def capacity_l(self) -> float:
        """What all butts hold when full [L]."""
        return sum(butt.capacity_l for butt in self.butts)


class WaterLine(Document):
    """What one bed is given this week; ``litres`` and ``cans`` are for the whole week.

    ``enough`` says of a bed that is given nothing that its soil holds enough.
    """

    bed: str
    daily_l: NotNegative | None
    cans: NotNegative | None
    litres: NotNegative
    days: list[date]
    butt: Annotated[str | None, Field(alias="from")]
    skip_after_mm: NotNegative | None
    stop: bool
    enough: bool = False
    reason: str


class FeedLine(Document):
    """One feed; ``feed_ml`` is for all its cans mixed together, ``heed`` is part of ``reason``.

    ``measure`` says by what ``spoons`` measures it, which a plan of an earlier version does not.
    """

    bed: str
    vessel: str
    cans: NotNegative
    feed_ml: NotNegative
    spoons: str | None
    measure: Literal["spoons", "jug", "two-cans", "stock"] | None = None
    dilution_parts: NotNegative
    day: date
    reason: str
    heed: str = ""
    only_due: bool = False


class UnfedLine(Document):
    """A bed that gets no feed this week, and whether it would be its turn."""

    bed: str
    reason: str
    due: bool = True


class VesselInShort(Document):
    """What goes into a vessel and why, in a few words."""

    matter: str | None
    reason: str


class VesselLine(Document):
    """What to do with a vessel, and why."""

    name: str
    do: str
    rainwater_l: NotNegative | None
    matter: str | None
    by: date | None
    reason: str
    in_short: VesselInShort | None = None


class MulchLine(Document):
    """A bed to mulch now."""

    bed: str
    depth_mm: NotNegative
    boxes: NotNegative
    saves_l: NotNegative
    reason: str


class LeverLine(Document):
    """What else would help; ``litres`` are saved or added, ``days`` are gained, in six weeks."""

    lever: Literal["mulch", "shade", "stop", "tap"]
    bed: str | None
    litres: float
    days: float
    reason: str


class TakenLine(Document):
    """What counts as done though nobody noted it; ``job`` is its name, by which it is undone."""

    job: str
    bed: str
    day: date
    litres: NotNegative | None
    vessel: str | None


class ShortFeedLine(Document):
    """A family for which the feed in hand is less than its beds will take in six weeks."""

    family: str
    there_l: NotNegative
    wanted_l: NotNegative
    by: date


class Plan(Document):
    """What to do this week."""

    schema_version: SchemaOne
    issued: datetime
    week: Annotated[list[date], Field(min_length=2, max_length=2)]
    in_hand_l: NotNegative | None
    lasts_to: DayRange | None
    water: list[WaterLine]
    feed: list[FeedLine]
    unfed: list[UnfedLine]
    vessels: list[VesselLine]
    short_feed: list[ShortFeedLine] = []
    mulch: list[MulchLine]
    levers: list[LeverLine] = []
    levers_on: date | None = None
    tap_l: NotNegative
    taken: list[TakenLine] = []

    @property
    def watered(self) -> list[WaterLine]:
        """The beds that get water."""
        return [line for line in self.water if not line.stop and (line.daily_l or line.litres)]

    @property
    def left_dry(self) -> list[WaterLine]:
        """The beds that get none."""
        return [line for line in self.water if line not in self.watered]
