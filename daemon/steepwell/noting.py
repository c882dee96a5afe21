"""``steepwell note``: from words on the command line to an entry in the journal."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, Any

from steepwell.errors import CommandError, JournalError
from steepwell.garden.quantity import (
    CONDUCTIVITY,
    LENGTH,
    RATIO,
    TEMPERATURE,
    VOLUME,
    WATER_DEPTH,
    Kind,
    magnitude,
)
from steepwell.note_words import what_changed
from steepwell.sense.journal import entry_from
from steepwell.store.entries import Answered, Corrected, Fed, FilledTo, JobDone
from steepwell.store.store import garden_store_url, open_store
from steepwell.store.strapping import filling, shape_line
from steepwell.words.figures import listed
from steepwell.words.saying import say

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable

    from steepwell.garden.garden import Garden

Json = dict[str, Any]

NOTE_KINDS = (
    "level-read",
    "filled-to",
    "rain-read",
    "temperature-read",
    "steep-started",
    "drawn-off",
    "topped-up",
    "decanted",
    "ready-confirmed",
    "too-strong",
    "conductivity-measured",
    "vessel-emptied",
    "fed",
    "watered",
    "planted",
    "cleared",
    "picking",
    "looks-hungry",
    "sickness-seen",
    "bean-test",
    "mulched",
    "restriction",
    "away",
    "put-to-bed",
    "woken",
    "tap-water-added",
    "butt-emptied",
    "not-watered",
    "job-done",
    "job-not-done",
    "answered",
    "corrected",
)

_A_JOB = 'as the plan names it, such as "water/beans" or "feed/leeks/2031-06-07"'

# Positional words of each kind: name, key of the entry, kind of quantity, what to say in the help.
_WORDS: dict[str, tuple[tuple[str, Kind | None, str], ...]] = {
    "level-read": (
        ("butt", None, "name of the butt"),
        ("text", None, '"half", "3 of 5 full", "18 cm from the lid", "120 L"'),
    ),
    "filled-to": (
        ("butt", None, "name of the butt"),
        ("depth_mm", LENGTH, 'how high the water stands now, such as "6 cm"; "0 cm" when empty'),
    ),
    "rain-read": (("mm", WATER_DEPTH, 'for instance "4 mm"'),),
    "temperature-read": (
        ("place", None, "name of the vessel, or air"),
        ("celsius", TEMPERATURE, 'for instance "14 degC"'),
    ),
    "steep-started": (("vessel", None, "name of the vessel"),),
    "drawn-off": (("vessel", None, "name of the vessel"), ("litres", VOLUME, 'such as "2 L"')),
    "topped-up": (("vessel", None, "name of the vessel"), ("litres", VOLUME, 'such as "5 L"')),
    "decanted": (
        ("vessel", None, "name of the vessel"),
        ("litres", VOLUME, 'such as "10 L"'),
        ("into", None, "what its label says"),
    ),
    "ready-confirmed": (("vessel", None, "name of the vessel"),),
    "too-strong": (("vessel", None, "name of the vessel"),),
    "conductivity-measured": (
        ("vessel", None, "name of the vessel"),
        ("ds_m", CONDUCTIVITY, 'of the liquid as it is, such as "12 mS/cm"'),
    ),
    "vessel-emptied": (("vessel", None, "name of the vessel"),),
    "fed": (
        ("bed", None, "name of the bed"),
        ("vessel", None, "name of the vessel"),
        ("feed_ml", VOLUME, 'undiluted feed a can, such as "30 mL"'),
    ),
    "watered": (("bed", None, "name of the bed"), ("litres", VOLUME, 'for instance "20 L"')),
    "planted": (("bed", None, "name of the bed"), ("crop", None, "as in the crop table")),
    "cleared": (("bed", None, "name of the bed"),),
    "picking": (("bed", None, "name of the bed"),),
    "looks-hungry": (("bed", None, "name of the bed"),),
    "sickness-seen": (("sickness", None, 'such as clubroot, blight, or "unknown"'),),
    "bean-test": (
        ("vessel", None, "name of the vessel"),
        ("outcome", None, "healthy, or twisted if leaves are cupped or twisted"),
    ),
    "mulched": (
        ("bed", None, "name of the bed"),
        ("material", None, "as in the table of mulches, such as grass-clippings"),
        ("depth_mm", LENGTH, 'how thick, such as "2.5 cm"'),
    ),
    "restriction": (("from", None, "the first day, such as 2031-07-01"),),
    "away": (
        ("from", None, "the first day, such as 2031-07-05"),
        ("to", None, "the last day, such as 2031-07-19"),
    ),
    "put-to-bed": (),
    "woken": (),
    "tap-water-added": (
        ("butt", None, "name of the butt"),
        ("litres", VOLUME, 'for instance "50 L"'),
    ),
    "butt-emptied": (("butt", None, "name of the butt"),),
    "not-watered": (("butt", None, "name of the butt"),),
    "job-done": (("job", None, _A_JOB),),
    "job-not-done": (("job", None, _A_JOB),),
    "answered": (
        ("notice", None, "its name, as status tells it, such as sensor-silent/gauge"),
        ("answer", None, "seen, later (with --until) or no-more"),
    ),
    "corrected": (("withdraws", None, "number of the entry that was wrong"),),
}
# What is noted in thousandths of the unit used inside.
_THOUSANDTHS = {"feed_ml": 1000.0, "depth_mm": 1000.0}


_SICK = ("--sick", {"action": "store_true", "help": "the plants or roots are sick"})
_AMOUNTS: tuple[tuple[str, Json], ...] = (
    ("--buckets", {"type": float, "help": "buckets of ten litres of each plant"}),
    ("--loose", {"action": "store_true", "help": "the buckets were not pressed"}),
    ("--kg", {"type": float, "help": "kilograms of each plant, if weighed"}),
    _SICK,
)
_BARS = ("tap", "hose", "watering")
# What may be said beside the words of a kind.
_OPTIONS: dict[str, tuple[tuple[str, Json], ...]] = {
    "steep-started": (
        ("plants", {"nargs": "+", "metavar": "PLANT", "help": "what went in"}),
        ("--water", {"metavar": "LITRES", "help": 'rainwater, such as "54 L"'}),
        *_AMOUNTS,
    ),
    "topped-up": (
        ("--matter", {"nargs": "+", "metavar": "PLANT", "help": "what else went in"}),
        *_AMOUNTS,
    ),
    "planted": (
        ("--transplanted", {"action": "store_true", "help": "as young plants raised elsewhere"}),
    ),
    "sickness-seen": (
        ("--bed", {"metavar": "BED", "help": "the bed it was seen in"}),
        ("--vessel", {"metavar": "VESSEL", "help": "the vessel that holds sick matter"}),
    ),
    "filled-to": (
        ("--cans", {"type": float, "default": 1.0, "help": "cans poured since the last mark"}),
    ),
    "fed": (("--cans", {"type": float, "default": 1.0, "help": "how many cans of it"}),),
    "watered": (("--from", {"dest": "butt", "metavar": "BUTT", "help": "where it came from"}),),
    "mulched": (("--cover", {"metavar": "SHARE", "help": 'how much of it, such as "80 %%"'}),),
    "restriction": (
        ("bars", {"nargs": "+", "choices": _BARS}),
        ("--to", {"metavar": "DAY", "help": "the last day; else until withdrawn"}),
    ),
    "away": (("--helper", {"metavar": "NAME", "help": "who waters meanwhile"}),),
    "cleared": (_SICK,),
    "job-not-done": (("--instead", {"metavar": "BED", "help": "the bed its water went to"}),),
    "answered": (("--until", {"metavar": "DAY", "help": "put off to that day"}),),
}


def add_note_arguments(parser: argparse.ArgumentParser, kind: str) -> None:
    """Add the words one kind of note takes."""
    for key, _, told in _WORDS[kind]:
        parser.add_argument(key, help=told, metavar=key.split("_")[0].upper())
    for name, how in _OPTIONS.get(kind, ()):
        parser.add_argument(name, **how)
    parser.add_argument("--at", metavar="TIME", help='when, if not now: "2031-05-03T09:00+01:00"')


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

    raw = _raw(options)
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


def _raw(options: argparse.Namespace) -> Json:
    raw: Json = {"kind": options.kind}
    for key, quantity, _ in _WORDS[options.kind]:
        raw[key] = _value(key, getattr(options, key), quantity)
    if options.at is not None:
        raw["at"] = _moment(options.at)
    beside = _BESIDE.get(options.kind)
    return raw if beside is None else {**raw, **beside(options)}


def _matter(plants: list[str], options: argparse.Namespace) -> list[Json]:
    amount: Json = {"healthy": not options.sick}
    if options.kg is not None:
        amount["kg"] = options.kg
    if options.buckets is not None:
        amount |= {"buckets": options.buckets, "packed": not options.loose}
    return [{"plant": plant, **amount} for plant in plants]


def _started(options: argparse.Namespace) -> Json:
    raw: Json = {"matter": _matter(options.plants, options)}
    if options.water is not None:
        raw["water_l"] = _value("water", options.water, VOLUME)
    return raw


def _mulched(options: argparse.Namespace) -> Json:
    return {} if options.cover is None else {"cover": _value("cover", options.cover, RATIO)}


# What the options of a kind add to its words.
_BESIDE: dict[str, Callable[[argparse.Namespace], Json]] = {
    "steep-started": _started,
    "topped-up": lambda options: {"matter": _matter(options.matter or [], options)},
    "fed": lambda options: {"cans": options.cans},
    "watered": lambda options: {} if options.butt is None else {"butt": options.butt},
    "mulched": _mulched,
    "restriction": lambda options: {"bars": options.bars, "to": options.to},
    "away": lambda options: {"helper": options.helper},
    "planted": lambda options: {"transplanted": options.transplanted},
    "sickness-seen": lambda options: {"bed": options.bed, "vessel": options.vessel},
    "cleared": lambda options: {"healthy": not options.sick},
    "job-not-done": lambda options: {"instead": options.instead},
    "answered": lambda options: {"until": options.until},
}


def _value(key: str, text: str, quantity: Kind | None) -> object:
    if key == "withdraws":
        if not text.isdecimal():
            raise CommandError(say("refused.no-number", text=text))
        return int(text)
    if quantity is None:
        return text
    try:
        amount = magnitude(text, quantity)
    except ValueError as error:
        raise CommandError(f"{key}: {error}") from None
    return amount * _THOUSANDTHS.get(key, 1.0)


def _moment(text: str) -> datetime:
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        raise CommandError(say("refused.no-time", text=text)) from None
    if moment.tzinfo is None:
        raise JournalError(say("refused.no-zone", text=text))
    return moment
