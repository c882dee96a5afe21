"""The forms of the page, made from the kinds of journal entry."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from types import UnionType
from typing import TYPE_CHECKING, Any, Literal, Union, get_args, get_origin

from steepwell.garden.garden import AIR
from steepwell.garden.quantity import (
    CONDUCTIVITY,
    LENGTH,
    RATIO,
    TEMPERATURE,
    VOLUME,
    WATER_DEPTH,
    Kind,
)
from steepwell.garden.tables import reference_tables
from steepwell.store.entries import Matter
from steepwell.store.entry_kinds import Entry
from steepwell.tell.units import amount_told, unit_told
from steepwell.words.figures import spoken
from steepwell.words.saying import say

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pydantic import BaseModel
    from pydantic.fields import FieldInfo

    from steepwell.garden.garden import Garden
    from steepwell.tell.units import Units

Widget = Literal["amount", "text", "number", "choice", "tick", "ticks", "day"]
Options = tuple[tuple[str, str], ...]

MODELS: dict[str, type[BaseModel]] = {
    model.model_fields["kind"].default: model for model in get_args(get_args(Entry)[0])
}
# What an entry says of itself, and what is told otherwise here: a level in words.
NOT_ASKED = {"at", "by", "id", "kind", "rough"}


@dataclass(frozen=True, slots=True)
class Amount:
    """How an amount is asked for: in which unit, and how many of ours in the journal one makes."""

    kind: Kind
    unit: str
    shown: str
    times: float = 1.0


AMOUNTS = {
    "litres": Amount(VOLUME, "L", "L"),
    "water_l": Amount(VOLUME, "L", "L"),
    "mm": Amount(WATER_DEPTH, "mm", "mm"),
    "celsius": Amount(TEMPERATURE, "degC", "°C"),
    "ds_m": Amount(CONDUCTIVITY, "mS/cm", "mS/cm"),
    "depth_mm": Amount(LENGTH, "cm", "cm", 1000.0),
    "feed_ml": Amount(VOLUME, "mL", "mL", 1000.0),
    "cover": Amount(RATIO, "%", "%"),
}


@dataclass(frozen=True, slots=True)
class Field:
    """One thing a form asks.

    Attributes
    ----------
    name
        Its key in what is sent.
    label
        What it is called.
    widget
        How it is asked for.
    value
        What stands in it at first; of ticks, what is ticked.
    options
        What there is to choose from, each with its words.
    unit
        What a bare number is taken to be in.
    needed
        Whether it must be filled in.
    """

    name: str
    label: str
    widget: Widget
    value: str = ""
    options: Options = ()
    unit: str = ""
    needed: bool = True


def fields_of(
    kind: str, garden: Garden, about: Mapping[str, str], defaults: Mapping[str, str]
) -> tuple[Field, ...]:
    """Return what a form asks for an entry.

    Parameters
    ----------
    kind
        The kind of entry.
    garden
        The garden, for the names to choose from.
    about
        What the form knows already.
    defaults
        What stands in its fields at first, where that is not empty.

    Returns
    -------
    tuple of Field
        In the order of the entry's own.
    """
    fields: list[Field] = []
    for name, info in MODELS[kind].model_fields.items():
        key = info.alias or name
        if name in NOT_ASKED or key in about:
            continue
        if name == "helper" and not helpers(garden):
            continue
        if _reaches(info.annotation, Matter):
            fields += _matter(needed=info.is_required())
        elif (kind, name) == ("level-read", "litres"):
            fields.append(Field("text", _label("text"), "text"))
        elif (kind, name) == ("filled-to", "litres"):
            fields.append(Field("cans", _label("poured"), "number", "1"))
        else:
            fields.append(_field(key, name, info, garden))
    return tuple(_with_default(field, defaults, garden.garden.units) for field in fields)


def helpers(garden: Garden) -> list[str]:
    """Return who may be named as the one who waters meanwhile."""
    return [person.name for person in garden.told.people if person.role == "helper"]


def _with_default(field: Field, defaults: Mapping[str, str], units: Units) -> Field:
    value = defaults.get(field.name)
    if value is None:
        return field
    if field.widget == "amount":
        value = f"{amount_told(float(value), AMOUNTS[field.name].shown, units):.3g}"
    return replace(field, value=value)


def _field(key: str, name: str, info: FieldInfo, garden: Garden) -> Field:
    asked = Field(key, _label(name), "text")
    asked = replace(asked, needed=info.is_required())
    literal = _words(info.annotation)
    options = _named(name, garden) or literal
    if name in AMOUNTS:
        value = "" if asked.needed else _percent(info.default)
        unit = unit_told(AMOUNTS[name].shown, garden.garden.units)
        return replace(asked, widget="amount", value=value, unit=unit)
    if literal and get_origin(info.annotation) is tuple:
        return replace(asked, widget="ticks", options=literal)
    if options:
        none = say("fields.nobody") if name == "helper" else say("fields.not-known")
        unknown = () if asked.needed else (("", none),)
        return replace(asked, widget="choice", options=(*unknown, *options))
    if info.annotation is bool:
        ticked = "yes" if info.default else ""
        return replace(asked, widget="tick", value=ticked, needed=False)
    if _reaches(info.annotation, date):
        return replace(asked, widget="day")
    return replace(asked, widget="number", value="1") if name == "cans" else asked


def _label(name: str) -> str:
    return say(f"ask.{name}")


def _percent(default: Any) -> str:  # noqa: ANN401 - the default of whatever field
    return f"{100 * default:.0f}" if isinstance(default, float) else ""


def _matter(*, needed: bool) -> list[Field]:
    return [
        Field("plants", _label("plants"), "text", needed=needed),
        Field("buckets", _label("buckets"), "number", needed=False),
        Field("loose", _label("loose"), "tick", needed=False),
        Field("sick", _label("sick"), "tick", needed=False),
    ]


def _named(name: str, garden: Garden) -> Options | None:
    """Return what a field may name, None if it names nothing."""
    tables = reference_tables()
    parts = {
        "butt": [butt.name for butt in garden.butt],
        "vessel": [vessel.name for vessel in garden.vessel],
        "bed": [bed.name for bed in garden.bed],
    }
    if name in parts:
        names = parts[name]
    elif name == "place":
        names = [*(vessel.name for vessel in garden.vessel), AIR]
    elif name == "crop":
        names = sorted(tables.crops)
    elif name == "material":
        names = sorted(tables.mulches)
    elif name == "sickness":
        names = sorted(tables.sicknesses)
    elif name == "helper":
        names = helpers(garden)
    else:
        return None
    return tuple((each, spoken(each)) for each in names)


def _reaches(annotation: Any, wanted: type) -> bool:  # noqa: ANN401 - whatever an annotation is
    """Return whether a field is of a type, or of several or perhaps one of it."""
    return annotation is wanted or any(_reaches(each, wanted) for each in get_args(annotation))


def _words(annotation: Any) -> Options:  # noqa: ANN401 - whatever an annotation is
    """Return the words a field may hold, none if it may hold others."""
    if get_origin(annotation) is Literal:
        return tuple((str(word), str(word)) for word in get_args(annotation))
    if get_origin(annotation) in {tuple, Union, UnionType}:
        for each in get_args(annotation):
            words = _words(each)
            if words:
                return words
    return ()
