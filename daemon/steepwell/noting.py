"""``steepwell note``: from words on the command line to an entry in the journal."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from steepwell.errors import CommandError, JournalError
from steepwell.garden.days import local_day
from steepwell.garden.garden import AIR
from steepwell.garden.quantity import RATIO, VOLUME, Kind
from steepwell.note_arguments import WORDS
from steepwell.note_words import what_changed
from steepwell.sense.journal import entry_from
from steepwell.sense.said import amount_said, as_named, day_said, moment_said
from steepwell.store.entries import Answered, Away, Corrected, Fed, FilledTo, JobDone, RainRead
from steepwell.store.store import garden_store_url, open_store
from steepwell.store.strapping import filling, shape_line
from steepwell.words.figures import listed
from steepwell.words.saying import say

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable, Sequence
    from datetime import date, datetime

    from steepwell.garden.garden import Garden
    from steepwell.store.entries import Entry

Json = dict[str, Any]

# What is noted in thousandths of the unit used inside.
_THOUSANDTHS = {"feed_ml": 1000.0, "depth_mm": 1000.0}
# What is named in the garden file, what in a table, and what is a day.
_NAMED = {"butt", "vessel", "bed", "place", "instead", "helper"}
_IN_TABLES = {"crop", "material", "sickness"}
_DAYS = {"from", "to", "until"}


def note(garden: Garden, options: argparse.Namespace, now: datetime) -> Json:
    """Write one entry into the journal.

    Parameters
    ----------
    garden
        The garden.
    options
        The words of the command.
    now
        The moment.

    Returns
    -------
    dict
        The entry, its number, and in words what it changed.

    Raises
    ------
    CommandError
        If a quantity or time cannot be read.
    JournalError
        If the entry cannot be; the message says what to do.
    """
    from steepwell.note_answers import (  # noqa: PLC0415 - loads NumPy, which the daemon goes without
        check_may_be_fed,
        vessel_of,
        what_it_means,
        what_no_longer_fits,
    )

    raw = _raw(options, garden, now)
    if options.kind == "filled-to":
        raw["litres"] = options.cans * garden.can.size
    with open_store(garden_store_url(garden), garden) as store:
        entry = entry_from(raw, garden, now, store.journal, store.results)
        parts = entry.parts() if isinstance(entry, JobDone) else (entry,)
        cautions = [
            check_may_be_fed(garden, store, part) for part in parts if isinstance(part, Fed)
        ]
        if isinstance(entry, Answered):
            _check_stands(entry, [notice.id for notice in store.notices.standing()])
        before = store.journal.entries(now)
        vessel = vessel_of(entry, before)
        number = store.journal.append(entry, now)
        if isinstance(entry, Corrected) and vessel is not None:
            cautions.append(what_no_longer_fits(garden, vessel, before, store.journal.entries(now)))
        means = "" if vessel is None else what_it_means(garden, store, vessel, now)
        if isinstance(entry, RainRead):
            means = _rain_that_day(entry, before, garden)
        if isinstance(entry, Away):
            means = _sheet_for(entry, garden)
        if isinstance(entry, FilledTo) and entry.depth_mm > 0:
            poured = filling(store.journal.entries(now, kinds=("filled-to",)), entry)
            means = say("noting.so-far", shape=shape_line(poured))
    told_of = (say("noting.entry", changed=what_changed(entry), number=number), means, *cautions)
    changed = ". ".join(each for each in told_of if each)
    told = entry.model_dump(mode="json", by_alias=True)
    return {"number": number, "entry": told, "changed": changed}


def _check_stands(entry: Answered, standing: list[str]) -> None:
    if entry.notice not in standing:
        if not standing:
            raise JournalError(say("refused.no-notice-stands", notice=entry.notice))
        there = listed(standing)
        raise JournalError(say("refused.no-such-notice", notice=entry.notice, there=there))


def _rain_that_day(entry: RainRead, before: Sequence[Entry], garden: Garden) -> str:
    day = local_day(garden, entry.at)
    earlier_mm = sum(
        each.mm
        for each in before
        if isinstance(each, RainRead) and local_day(garden, each.at) == day
    )
    return say("noting.rain-that-day", mm=f"{earlier_mm + entry.mm:.1f}") if earlier_mm else ""


def _sheet_for(entry: Away, garden: Garden) -> str:
    known = {each.name for each in garden.told.people if each.role == "helper"}
    if entry.helper is None or entry.helper in known:
        return ""
    return say("noting.no-sheet", helper=entry.helper)


def _raw(options: argparse.Namespace, garden: Garden, now: datetime) -> Json:
    raw: Json = {"kind": options.kind}
    for key, quantity, _ in WORDS[options.kind]:
        raw[key] = _value(key, getattr(options, key), quantity, garden)
    if options.at is not None:
        raw["at"] = _moment(options.at, garden, now)
    beside = _BESIDE.get(options.kind)
    raw |= {} if beside is None else beside(options, garden)
    today = local_day(garden, now)
    said = {key: value for key, value in raw.items() if value is not None}
    named = {key: _name(said[key], garden) for key in _NAMED & said.keys()}
    in_tables = {key: as_named(said[key]) for key in _IN_TABLES & said.keys()}
    days = {key: _day(said[key], today) for key in _DAYS & said.keys()}
    return {**raw, **named, **in_tables, **days}


def _matter(plants: list[str], options: argparse.Namespace) -> list[Json]:
    amount: Json = {"healthy": not options.sick}
    if options.kg is not None:
        amount["kg"] = options.kg
    if options.buckets is not None:
        amount |= {"buckets": options.buckets, "packed": not options.loose}
    return [{"plant": as_named(plant), **amount} for plant in plants]


def _started(options: argparse.Namespace, garden: Garden) -> Json:
    raw: Json = {"matter": _matter(options.plants, options)}
    if options.water is not None:
        raw["water_l"] = _value("water", options.water, VOLUME, garden)
    return raw


def _mulched(options: argparse.Namespace, garden: Garden) -> Json:
    if options.cover is None:
        return {}
    return {"cover": _value("cover", options.cover, RATIO, garden)}


# What the options of a kind add to its words.
_BESIDE: dict[str, Callable[[argparse.Namespace, Garden], Json]] = {
    "steep-started": _started,
    "topped-up": lambda options, _: {"matter": _matter(options.matter or [], options)},
    "fed": lambda options, _: {"cans": options.cans},
    "watered": lambda options, _: {} if options.butt is None else {"butt": options.butt},
    "mulched": _mulched,
    "restriction": lambda options, _: {"bars": options.bars, "to": options.to},
    "away": lambda options, _: {"helper": options.helper},
    "planted": lambda options, _: {"transplanted": options.transplanted},
    "sickness-seen": lambda options, _: {"bed": options.bed, "vessel": options.vessel},
    "cleared": lambda options, _: {"healthy": not options.sick},
    "job-not-done": lambda options, _: {"instead": options.instead},
    "answered": lambda options, _: {"until": options.until},
}


def _value(key: str, text: str, quantity: Kind | None, garden: Garden) -> object:
    if key == "withdraws":
        if not text.isdecimal():
            raise CommandError(say("refused.no-number", text=text))
        return int(text)
    if quantity is None:
        return text
    try:
        amount = amount_said(text, quantity, garden.can.size)
    except ValueError as error:
        raise CommandError(f"{text[:40]!r}: {error}") from None
    return amount * _THOUSANDTHS.get(key, 1.0)


def _name(text: str, garden: Garden) -> str:
    """Return a name as the garden file or a table has it; a label of decanted feed is free."""
    named = as_named(text)
    own = {
        AIR,
        *(part.name for kind in (garden.butt, garden.vessel, garden.bed) for part in kind),
        *(person.name for person in garden.told.people),
    }
    return named if named in own else text


def _day(text: str, today: date) -> date:
    told = day_said(text, today)
    if told is None:
        raise CommandError(say("refused.no-day", text=text[:40]))
    return told


def _moment(text: str, garden: Garden, now: datetime) -> datetime:
    moment = moment_said(text, now, garden.garden.zone)
    if moment is None:
        raise CommandError(say("refused.no-time", text=text[:40]))
    return moment
