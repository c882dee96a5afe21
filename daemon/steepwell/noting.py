"""``steepwell note``: from words on the command line to an entry in the journal."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, Any

from steepwell.errors import CommandError, JournalError
from steepwell.garden.quantity import (
    LENGTH,
    RATIO,
    TEMPERATURE,
    VOLUME,
    WATER_DEPTH,
    Kind,
    magnitude,
)
from steepwell.sense.journal import entry_from
from steepwell.store.entries import (
    Cleared,
    Corrected,
    DrawnOff,
    Entry,
    Fed,
    LevelRead,
    Mulched,
    Planted,
    RainRead,
    Restriction,
    SteepStarted,
    TapWaterAdded,
    TemperatureRead,
    VesselEmptied,
    Watered,
)
from steepwell.store.store import garden_store_url, open_store
from steepwell.tell.wording import joined, litres, spoken, the_butt, the_vessel

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable

    from steepwell.garden.garden import Garden

Json = dict[str, Any]

NOTE_KINDS = {
    "level-read": "the water in a butt, read with a stick or by eye",
    "rain-read": "a plastic gauge, read and emptied",
    "temperature-read": "a thermometer in a vessel or in the shade",
    "steep-started": "a vessel was filled",
    "drawn-off": "feed was taken from a vessel",
    "vessel-emptied": "a vessel was emptied",
    "fed": "a bed was fed",
    "watered": "a bed was watered",
    "planted": "a crop went into a bed",
    "cleared": "a bed was cleared",
    "mulched": "mulch was laid on a bed",
    "restriction": "local orders bar water for some time",
    "tap-water-added": "tap water went into a butt",
    "corrected": "an earlier entry was wrong",
}

# Positional words of each kind: name, key of the entry, kind of quantity, what to say in the help.
_WORDS: dict[str, tuple[tuple[str, Kind | None, str], ...]] = {
    "level-read": (
        ("butt", None, "name of the butt"),
        ("text", None, '"half", "3 of 5 full", "18 cm from the lid", "120 L"'),
    ),
    "rain-read": (("mm", WATER_DEPTH, 'for instance "4 mm"'),),
    "temperature-read": (
        ("place", None, "name of the vessel, or air"),
        ("celsius", TEMPERATURE, 'for instance "14 degC"'),
    ),
    "steep-started": (("vessel", None, "name of the vessel"),),
    "drawn-off": (("vessel", None, "name of the vessel"), ("litres", VOLUME, 'such as "2 L"')),
    "vessel-emptied": (("vessel", None, "name of the vessel"),),
    "fed": (
        ("bed", None, "name of the bed"),
        ("vessel", None, "name of the vessel"),
        ("feed_ml", VOLUME, 'undiluted feed a can, such as "30 mL"'),
    ),
    "watered": (("bed", None, "name of the bed"), ("litres", VOLUME, 'for instance "20 L"')),
    "planted": (("bed", None, "name of the bed"), ("crop", None, "as in the crop table")),
    "cleared": (("bed", None, "name of the bed"),),
    "mulched": (
        ("bed", None, "name of the bed"),
        ("material", None, "as in the table of mulches, such as grass-clippings"),
        ("depth_mm", LENGTH, 'how thick, such as "2.5 cm"'),
    ),
    "restriction": (("from", None, "the first day, such as 2031-07-01"),),
    "tap-water-added": (
        ("butt", None, "name of the butt"),
        ("litres", VOLUME, 'for instance "50 L"'),
    ),
    "corrected": (("withdraws", None, "number of the entry that was wrong"),),
}
# What is noted in thousandths of the unit used inside.
_THOUSANDTHS = {"feed_ml": 1000.0, "depth_mm": 1000.0}


def add_note_arguments(parser: argparse.ArgumentParser, kind: str) -> None:
    """Add the words one kind of note takes."""
    for key, _, told in _WORDS[kind]:
        parser.add_argument(key, help=told, metavar=key.split("_")[0].upper())
    if kind == "steep-started":
        parser.add_argument("plants", nargs="+", metavar="PLANT", help="what went in")
        parser.add_argument("--water", metavar="LITRES", help='rainwater, such as "54 L"')
    if kind == "fed":
        parser.add_argument("--cans", type=float, default=1.0, help="how many cans of it")
    if kind == "watered":
        parser.add_argument("--from", dest="butt", metavar="BUTT", help="the butt it came from")
    if kind == "mulched":
        parser.add_argument("--cover", metavar="SHARE", help='how much of it, such as "80 %%"')
    if kind == "restriction":
        parser.add_argument("bars", nargs="+", choices=("tap", "hose", "watering"))
        parser.add_argument("--to", metavar="DAY", help="the last day; else until withdrawn")
    if kind == "cleared":
        parser.add_argument("--sick", action="store_true", help="the crop or its roots were sick")
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
    raw = _raw(options)
    with open_store(garden_store_url(garden), garden) as store:
        entry = entry_from(raw, garden, now, store.journal)
        number = store.journal.append(entry, now)
    changed = f"{_CHANGED[type(entry)](entry)} (entry {number})"
    told = entry.model_dump(mode="json", by_alias=True)
    return {"number": number, "entry": told, "changed": changed}


def _raw(options: argparse.Namespace) -> Json:
    raw: Json = {"kind": options.kind}
    for key, quantity, _ in _WORDS[options.kind]:
        raw[key] = _value(key, getattr(options, key), quantity)
    if options.at is not None:
        raw["at"] = _moment(options.at)
    if options.kind == "steep-started":
        raw["matter"] = [{"plant": plant} for plant in options.plants]
        if options.water is not None:
            raw["water_l"] = _value("water", options.water, VOLUME)
    if options.kind == "fed":
        raw["cans"] = options.cans
    if options.kind == "watered" and options.butt is not None:
        raw["butt"] = options.butt
    if options.kind == "mulched" and options.cover is not None:
        raw["cover"] = _value("cover", options.cover, RATIO)
    if options.kind == "restriction":
        raw |= {"bars": options.bars, "to": options.to}
    if options.kind == "cleared":
        raw["healthy"] = not options.sick
    return raw


def _value(key: str, text: str, quantity: Kind | None) -> object:
    if key == "withdraws":
        if not text.isdecimal():
            raise CommandError(f"{text!r} is no number of an entry; notes answer with theirs")
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
        raise CommandError(
            f'{text!r} is no time; write for instance "2031-05-03T09:00+01:00"'
        ) from None
    if moment.tzinfo is None:
        raise JournalError(f'{text} needs its time zone, for instance "{text}+01:00"')
    return moment


_CHANGED: dict[type[Entry], Callable[[Any], str]] = {
    LevelRead: lambda e: f"{the_butt(e.butt)} now counts as holding {litres(e.litres)}",
    RainRead: lambda e: f"{e.mm:.1f} mm of rain noted for {e.at:%-d %B}",
    TemperatureRead: lambda e: f"{e.celsius:.1f} °C noted for {e.place}",
    SteepStarted: lambda e: (
        f"{the_vessel(e.vessel)} is steeping {joined([m.plant for m in e.matter])} since "
        f"{e.at:%-d %B}; it will be called ready by its temperature"
    ),
    DrawnOff: lambda e: f"{litres(e.litres)} less in {the_vessel(e.vessel)}",
    VesselEmptied: lambda e: f"{the_vessel(e.vessel)} is empty",
    Fed: lambda e: f"{spoken(e.bed)} fed on {e.at:%-d %B}; its next feed is counted from there",
    Watered: lambda e: f"{spoken(e.bed)} got {litres(e.litres)} on {e.at:%-d %B}",
    Planted: lambda e: f"{spoken(e.bed)} holds {spoken(e.crop)} since {e.at:%-d %B}",
    Cleared: lambda e: f"{spoken(e.bed)} is cleared since {e.at:%-d %B}",
    Mulched: lambda e: (
        f"{spoken(e.bed)} has {e.depth_mm / 10:g} cm of {spoken(e.material)} since {e.at:%-d %B}"
    ),
    Restriction: lambda e: (
        f"{joined(e.bars)} barred from {e.first:%-d %B}"
        f"{f' to {e.last:%-d %B}' if e.last else ' until this entry is withdrawn'}"
    ),
    TapWaterAdded: lambda e: f"{litres(e.litres)} of tap water more in {the_butt(e.butt)}",
    Corrected: lambda e: f"entry {e.withdraws} is withdrawn",
}
