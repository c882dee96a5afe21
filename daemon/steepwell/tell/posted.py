"""What is posted for other programs: each butt, vessel, bed and notice, and both documents."""

from __future__ import annotations

import json
from datetime import date, datetime
from typing import TYPE_CHECKING, Any, Literal

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field, JsonValue

from steepwell.tell.documents import BedAhead, ButtAhead, Outlook, Plan, ReadyRange, VesselAhead

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden
    from steepwell.store.notices import NoticeEvent

Json = dict[str, Any]


class Posted(BaseModel):
    """One retained message; its keys say their unit."""

    model_config = ConfigDict(
        frozen=True,
        extra="forbid",
        validate_by_name=True,
        json_schema_serialization_defaults_required=True,
    )

    schema_version: Literal[1] = Field(default=1, alias="schema")

    def payload(self) -> bytes:
        """Return the message as JSON."""
        return self.model_dump_json(by_alias=True).encode()


class ButtPosted(Posted):
    """The water in one butt."""

    name: str
    as_of: AwareDatetime
    litres: float
    litres_above_tap: float
    capacity_l: float


class VesselPosted(Posted):
    """The feed in one vessel."""

    name: str
    as_of: AwareDatetime
    temperature_c: float | None
    thermal_age_d: float | None
    ready: ReadyRange | None
    dilution_parts: float | None


class BedPosted(Posted):
    """The soil of one bed, and what the plan gives it this week."""

    name: str
    as_of: AwareDatetime
    depletion_mm: float
    readily_available_mm: float
    water_l: float | None
    water_days: list[date]
    reason: str | None


class NoticePosted(Posted):
    """A notice that stands, in the words of the Common Alerting Protocol 1.2."""

    id: str
    kind: str
    subject: str
    event: Literal["raised", "changed", "worsened", "eased", "reminded", "cleared"]
    at: AwareDatetime
    urgency: str
    severity: str
    certainty: str
    headline: str
    text: str
    figures: dict[str, JsonValue]


class AlivePosted(Posted):
    """Whether the program runs; the broker posts false for it when it is gone."""

    alive: bool


def topic_root(garden: Garden) -> str:
    """Return what all topics of a garden begin with."""
    return f"steepwell/{garden.name}"


def posted_figures(
    garden: Garden, outlook: Json | None, plan: Json | None, issued: datetime
) -> dict[str, bytes]:
    """Return what is posted after an outlook and a plan.

    Parameters
    ----------
    garden
        The garden, for the topics and for what lies below the taps.
    outlook
        The outlook document, or None where there is none.
    plan
        The plan document, or None where there is none.
    issued
        When the figures hold (aware).

    Returns
    -------
    dict of str to bytes
        Retained messages by topic.

    Raises
    ------
    pydantic.ValidationError
        If a document is not what it should be.
    """
    root = topic_root(garden)
    posted: dict[str, bytes] = {}
    week = Plan.model_validate(plan) if plan is not None else None
    if outlook is not None:
        ahead = Outlook.model_validate(outlook)
        posted[f"{root}/outlook"] = _document(outlook)
        for butt in ahead.butts:
            posted[f"{root}/butt/{butt.name}"] = _butt(garden, butt, issued).payload()
        for vessel in ahead.vessels:
            posted[f"{root}/vessel/{vessel.name}"] = _vessel(vessel, issued).payload()
        for bed in ahead.beds:
            posted[f"{root}/bed/{bed.name}"] = _bed(bed, week, issued).payload()
    if plan is not None:
        posted[f"{root}/plan"] = _document(plan)
    return posted


def posted_notice(garden: Garden, event: NoticeEvent) -> tuple[str, bytes]:
    """Return the topic of a notice and its message, which is empty when the notice is over.

    Parameters
    ----------
    garden
        The garden, for the topic.
    event
        The newest that happened to the notice.

    Returns
    -------
    tuple of str and bytes
        Topic and retained message.
    """
    topic = f"{topic_root(garden)}/notice/{event.id}"
    if event.event == "cleared":
        return topic, b""
    fields = {key: getattr(event, key) for key in NoticePosted.model_fields if hasattr(event, key)}
    return topic, NoticePosted(**fields).payload()


def schemas() -> dict[str, Json]:
    """Return the JSON Schema of everything that is posted, by the kind of its topic."""
    models: dict[str, type[BaseModel]] = {
        "butt": ButtPosted,
        "vessel": VesselPosted,
        "bed": BedPosted,
        "outlook": Outlook,
        "plan": Plan,
        "notice": NoticePosted,
        "alive": AlivePosted,
    }
    return {kind: model.model_json_schema(mode="serialization") for kind, model in models.items()}


def _document(document: Json) -> bytes:
    return json.dumps(document, ensure_ascii=False, separators=(",", ":")).encode()


def _butt(garden: Garden, butt: ButtAhead, issued: datetime) -> ButtPosted:
    dead_l = next((each.dead_volume for each in garden.butt if each.name == butt.name), 0.0)
    return ButtPosted(
        name=butt.name,
        as_of=issued,
        litres=butt.now_l,
        litres_above_tap=max(0.0, butt.now_l - dead_l),
        capacity_l=butt.capacity_l,
    )


def _vessel(vessel: VesselAhead, issued: datetime) -> VesselPosted:
    return VesselPosted(
        name=vessel.name,
        as_of=issued,
        temperature_c=vessel.temperature_c,
        thermal_age_d=vessel.thermal_age_d,
        ready=vessel.ready,
        dilution_parts=vessel.dilution_parts,
    )


def _bed(bed: BedAhead, plan: Plan | None, issued: datetime) -> BedPosted:
    line = next((each for each in plan.water if each.bed == bed.name), None) if plan else None
    return BedPosted(
        name=bed.name,
        as_of=issued,
        depletion_mm=bed.depletion_mm,
        readily_available_mm=bed.readily_available_mm,
        water_l=line.litres if line else None,
        water_days=line.days if line else [],
        reason=line.reason if line else None,
    )
