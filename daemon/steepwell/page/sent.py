"""From what a form sent to an entry as it comes from anywhere else."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, Any

from steepwell.errors import JournalError
from steepwell.page.fields import AMOUNTS, Amount, Field, fields_of
from steepwell.sense.said import amount_said, as_named
from steepwell.tell.units import amount_meant, unit_told

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from steepwell.garden.garden import Garden

Json = dict[str, Any]
# The parts of a bed, butt or vessel that a form knows already.
ABOUT = ("bed", "vessel", "butt", "place")
_MATTER = {"plants", "buckets", "loose", "sick"}


def raw_entry(kind: str, sent: Mapping[str, Sequence[str]], garden: Garden) -> Json:
    """Return an entry as it would come from anywhere else.

    Parameters
    ----------
    kind
        Its kind.
    sent
        The fields of the form, each with what was sent of it in order. Of one that was filled in
        and has a button of its own too, the button comes last and counts.
    garden
        The garden: its time zone, and what a can holds.

    Returns
    -------
    dict
        To be checked like every other.

    Raises
    ------
    JournalError
        If an amount or a time cannot be read.
    """
    raw: Json = {"kind": kind}
    fields = fields_of(kind, garden, {}, {})
    for field in fields:
        words = [each.strip() for each in sent.get(field.name, ()) if each.strip()]
        said = _said(field, words, garden)
        if field.name not in _MATTER:
            raw.update(said)
    if any(field.name == "plants" for field in fields):
        raw["matter"] = _matter(sent)
    if kind == "filled-to":
        raw["litres"] = raw.pop("cans", 0.0) * garden.can.size
    moment = _last(sent, "at")
    if moment:
        raw["at"] = _moment(moment, garden)
    return raw


def _said(field: Field, words: list[str], garden: Garden) -> Json:
    if field.widget == "tick":
        return {field.name: bool(words)}
    if not words and field.needed:
        raise JournalError(f"{field.label}: that is not filled in yet")
    if not words:
        return {}
    if field.widget == "ticks":
        return {field.name: words}
    text = words[-1]
    if field.widget == "amount":
        return {field.name: _amount(field, text, AMOUNTS[field.name], garden)}
    if field.widget == "number":
        return {field.name: _number(field.label, text)}
    return {field.name: text}


def _amount(field: Field, text: str, amount: Amount, garden: Garden) -> float:
    """Return an amount; a bare number is in the unit that stands beside the field."""
    said, units = text, garden.garden.units
    number, _, unit = said.partition(" ")
    if unit in {"", unit_told(amount.shown, units)}:
        meant = amount_meant(_number(field.label, number), amount.shown, units)
        said = f"{meant!r} {amount.unit}"
    try:
        return amount_said(said, amount.kind, garden.can.size) * amount.times
    except ValueError as error:
        raise JournalError(f"{field.label}: {error}") from None


def _number(label: str, text: str) -> float:
    try:
        return float(text.replace(",", "."))
    except ValueError:
        raise JournalError(f"{label}: {text[:40]!r} is no number") from None


def _matter(sent: Mapping[str, Sequence[str]]) -> list[Json]:
    amount: Json = {"healthy": not _last(sent, "sick")}
    buckets = _last(sent, "buckets")
    if buckets:
        amount |= {"buckets": _number("Buckets", buckets), "packed": not _last(sent, "loose")}
    plants = [each.strip() for each in _last(sent, "plants").replace(";", ",").split(",")]
    return [{"plant": as_named(each), **amount} for each in plants if each]


def _moment(text: str, garden: Garden) -> datetime:
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        raise JournalError(f"{text[:40]!r} is no time; leave it empty for now") from None
    return moment if moment.tzinfo else moment.replace(tzinfo=garden.garden.zone)


def _last(sent: Mapping[str, Sequence[str]], name: str) -> str:
    said = sent.get(name, ())
    return said[-1].strip() if said else ""
