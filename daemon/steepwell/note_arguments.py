"""The words of ``steepwell note``: what each kind of entry is told by on the command line."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from steepwell.garden.quantity import (
    CONDUCTIVITY,
    LENGTH,
    TEMPERATURE,
    VOLUME,
    WATER_DEPTH,
    Kind,
)
from steepwell.sense.said import with_points

if TYPE_CHECKING:
    import argparse

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
WORDS: dict[str, tuple[tuple[str, Kind | None, str], ...]] = {
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
    "restriction": (("from", None, 'the first day, such as 2031-07-01 or "1 July"'),),
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


def number(text: str) -> float:
    """Return a number, with a point or a comma; argparse says this name where it is none."""
    return float(with_points(text))


_SICK = ("--sick", {"action": "store_true", "help": "the plants or roots are sick"})
_AMOUNTS: tuple[tuple[str, Json], ...] = (
    ("--buckets", {"type": number, "help": "buckets of ten litres of each plant"}),
    ("--loose", {"action": "store_true", "help": "the buckets were not pressed"}),
    ("--kg", {"type": number, "help": "kilograms of each plant, if weighed"}),
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
        ("--cans", {"type": number, "default": 1.0, "help": "cans poured since the last mark"}),
    ),
    "fed": (("--cans", {"type": number, "default": 1.0, "help": "how many cans of it"}),),
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
    for key, _, told in WORDS[kind]:
        parser.add_argument(key, help=told, metavar=key.split("_")[0].upper())
    for name, how in _OPTIONS.get(kind, ()):
        parser.add_argument(name, **how)
    parser.add_argument(
        "--at", metavar="TIME", help='when, if not now: "yesterday", "3 May" or "2031-05-03 09:00"'
    )
