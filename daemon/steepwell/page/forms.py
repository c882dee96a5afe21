"""Which forms stand on the page of a bed, a vessel, a butt and the garden, and what is in them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from steepwell.page.fields import MODELS, Field, fields_of, helpers
from steepwell.store.steeps import steep_in
from steepwell.tell.jobs import dose_in_cans
from steepwell.tell.units import unit_told
from steepwell.tell.wording import cans, sentence, the_vessel
from steepwell.words.figures import spoken
from steepwell.words.saying import say

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from steepwell.garden.garden import Garden
    from steepwell.page.facts import Facts

Of = Literal["bed", "vessel", "butt", "garden"]

FORMS: dict[Of, tuple[str, ...]] = {
    "bed": (
        "watered",
        "fed",
        "picking",
        "looks-hungry",
        "planted",
        "cleared",
        "mulched",
        "sickness-seen",
    ),
    "vessel": (
        "steep-started",
        "drawn-off",
        "topped-up",
        "ready-confirmed",
        "decanted",
        "too-strong",
        "vessel-emptied",
        "temperature-read",
        "conductivity-measured",
        "bean-test",
        "sickness-seen",
    ),
    "butt": ("level-read", "tap-water-added", "not-watered", "butt-emptied", "filled-to"),
    "garden": (
        "rain-read",
        "temperature-read",
        "not-watered",
        "restriction",
        "away",
        "put-to-bed",
        "woken",
    ),
}
# What has buttons of its own elsewhere.
ELSEWHERE = ("corrected", "job-done", "job-not-done", "answered")
OF_EMPTY_VESSELS = ("steep-started", "temperature-read")
FEW_CANS = (0.5, 1.0, 2.0, 3.0)
LEVELS = ("full", "three quarters", "half", "a quarter", "empty")
# What is asked, its metric unit, and amounts in that unit and in the one it becomes elsewhere.
READ_AT_ONCE = {
    "rain-read": ("mm", "mm", (1, 2, 5, 10, 20), (0.05, 0.1, 0.2, 0.5, 1)),
    "temperature-read": ("celsius", "°C", (5, 10, 15, 20, 25), (40, 50, 60, 70, 80)),
}


@dataclass(frozen=True, slots=True)
class Form:
    """A form for one kind of entry.

    Attributes
    ----------
    kind
        The kind.
    title, hint
        What its button says, and what that means.
    about
        What it knows already.
    fields
        What it asks.
    at_once
        Buttons that fill in one field and send the form: its name, value and words.
    """

    kind: str
    title: str
    hint: str
    about: tuple[tuple[str, str], ...]
    fields: tuple[Field, ...]
    at_once: tuple[tuple[str, str, str], ...] = ()


def forms_of(of: Of, name: str, facts: Facts) -> list[Form]:
    """Return the forms on one page.

    Parameters
    ----------
    of
        What the page is of.
    name
        Its name; empty for the garden.
    facts
        What is known, for what stands in the forms at first.

    Returns
    -------
    list of Form
        In the order in which they are wanted.
    """
    kinds = [kind for kind in kinds_of(of) if _fits(of, kind, name, facts)]
    forms: list[Form] = []
    for kind in kinds:
        if kind == "fed":
            forms += _fed(name, facts)
        else:
            about = {} if of == "garden" else {_key(of, kind): name}
            forms.append(_form(kind, facts.garden, about, _at_first(kind, name, facts)))
    return forms


def kinds_of(of: Of) -> list[str]:
    """Return the kinds of entry that have a form there; what nobody placed is of the garden."""
    placed = {kind for kinds in FORMS.values() for kind in kinds}
    more = [kind for kind in MODELS if kind not in placed and kind not in ELSEWHERE]
    return [*FORMS[of], *(more if of == "garden" else [])]


def _key(of: Of, kind: str) -> str:
    return "place" if "place" in MODELS[kind].model_fields else of


def _fits(of: Of, kind: str, name: str, facts: Facts) -> bool:
    if of == "vessel":
        empty = steep_in(facts.turns, name, facts.now) is None
        return kind in OF_EMPTY_VESSELS if empty else kind != "steep-started"
    if kind in {"put-to-bed", "woken"}:
        return facts.at_rest == (kind == "woken")
    return True


def _form(kind: str, garden: Garden, about: Mapping[str, str], defaults: Mapping[str, str]) -> Form:
    if kind == "temperature-read" and not about:
        about = {"place": "air"}
    if kind == "not-watered" and not about:
        about = {"butt": ""}
    if kind == "sickness-seen":
        about = {"bed": "", "vessel": "", **about}
    fields = fields_of(kind, garden, about, defaults)
    hint = sentence(say(f"hints.{kind}"))
    if kind == "away" and not helpers(garden):
        hint = f"{hint} {say('forms-away.no-helper')}"
    return Form(
        kind,
        say(f"forms.{kind}"),
        hint,
        tuple((key, value) for key, value in about.items() if value),
        fields,
        tuple(_at_once(kind, garden, about)),
    )


def _at_once(kind: str, garden: Garden, about: Mapping[str, str]) -> Iterable[tuple[str, str, str]]:
    if kind in {"watered", "tap-water-added"}:
        can_l = garden.can.size
        return [("litres", f"{count * can_l:g} L", cans(count)) for count in FEW_CANS]
    if kind == "level-read":
        return [("text", level, say(f"levels.{level.replace(' ', '-')}")) for level in LEVELS]
    if kind in READ_AT_ONCE:
        name, unit, metric, other = READ_AT_ONCE[kind]
        amounts = metric if garden.garden.units == "metric" else other
        words = [f"{amount} {unit_told(unit, garden.garden.units)}" for amount in amounts]
        return [(name, said, said) for said in words]
    if kind == "planted":
        bed = next(bed for bed in garden.bed if bed.name == about["bed"])
        crops = dict.fromkeys(growing.crop for growing in bed.crops)
        return [("crop", crop, spoken(crop)) for crop in crops]
    return []


def _at_first(kind: str, name: str, facts: Facts) -> dict[str, str]:
    """Return what stands in a form at first: what the plan says, or else what is usual."""
    if kind == "watered":
        return _watering(name, facts)
    if kind in {"topped-up", "steep-started"}:
        lines = facts.plan.vessels if facts.plan else []
        water_l = next((v.rainwater_l for v in lines if v.name == name), None)
        key = "litres" if kind == "topped-up" else "water_l"
        return {key: f"{water_l:g}"} if water_l else {}
    if kind == "planted":
        bed = next(bed for bed in facts.garden.bed if bed.name == name)
        return {"crop": bed.crops[0].crop} if bed.crops else {}
    today = {"from": facts.today.isoformat()}
    return {**_USUAL, "restriction": today, "away": today}.get(kind, {})


_USUAL = {
    "mulched": {"material": "grass-clippings", "depth_mm": "2.5"},
    "sickness-seen": {"sickness": "unknown"},
}


def _watering(name: str, facts: Facts) -> dict[str, str]:
    plan, each_l = facts.plan, facts.garden.can.size
    line = next((w for w in plan.watered if w.bed == name), None) if plan else None
    bed = next(bed for bed in facts.garden.bed if bed.name == name)
    if line is not None:
        each_l = line.daily_l or line.litres / max(len(line.days), 1)
    butt = (line.butt if line is not None else None) or bed.butt or ""
    return {"litres": f"{each_l:.3g}", "butt": butt}


def _fed(bed: str, facts: Facts) -> list[Form]:
    """Return a form for each feed there is, that of the plan first, with its dose filled in."""
    lines = facts.plan.feed if facts.plan is not None else []
    planned = {line.vessel: line for line in lines if line.bed == bed}
    known = [each for each in facts.beside.get("vessels", ()) if each["feed_ml"] is not None]
    forms = []
    for feed in sorted(known, key=lambda each: each["name"] not in planned):
        if feed["locks"]:
            continue
        vessel, line = feed["name"], planned.get(feed["name"])
        feed_ml, count, parts = feed["feed_ml"], feed["cans"], feed["dilution_parts"]
        dose = feed["dose"] if count > 1 else say("feed-forms.a-can", dose=feed["dose"])
        if line is not None:
            feed_ml, count, parts = line.feed_ml, line.cans, line.dilution_parts
            dose = dose_in_cans(line)
        at_first = {"feed_ml": f"{feed_ml / count:.3g}", "cans": f"{count:g}"}
        form = _form("fed", facts.garden, {"bed": bed, "vessel": vessel}, at_first)
        title, hint = (
            say("feed-forms.fed-from", vessel=the_vessel(vessel)),
            say("feed-forms.dose", parts=f"{parts:.0f}", dose=dose),
        )
        forms.append(replace(form, title=title, hint=hint))
    return forms
