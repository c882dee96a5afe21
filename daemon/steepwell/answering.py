"""What all commands share: their words, and how they answer."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

from steepwell.garden.load import load_garden
from steepwell.tell.units import screen_in_units
from steepwell.words.saying import speak

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable

    from steepwell.garden.garden import Garden

DEFAULT_GARDEN = Path("garden.toml")

Json = dict[str, Any]


def add_garden(parser: argparse.ArgumentParser) -> None:
    """Have a command take a garden file."""
    parser.add_argument("garden", nargs="?", type=Path, default=DEFAULT_GARDEN, metavar="GARDEN")


def add_common(parser: argparse.ArgumentParser, command: Callable[[Any], None]) -> None:
    """Have a command take what all take, and say what runs it."""
    parser.add_argument("--json", action="store_true", help="answer in JSON")
    parser.add_argument("--debug", action="store_true", help="show where an error came from")
    parser.set_defaults(command=command)


def garden_of(options: argparse.Namespace) -> Garden:
    """Return the garden of a command, whose answer is in its language and units from here on."""
    garden = load_garden(options.garden)
    speak(garden.garden.language)
    options.units = garden.garden.units
    return garden


def answer_with(options: argparse.Namespace, answer: Json, screen: Callable[[Json], str]) -> None:
    """Print an answer, as a screen or in JSON."""
    if options.json:
        answer_in_json(answer)
    else:
        print(screen_in_units(screen(answer), options.units))  # noqa: T201 - the command's voice


def answer_in_json(answer: Json) -> None:
    """Print an answer in JSON."""
    print(json.dumps(answer, ensure_ascii=False), flush=True)  # noqa: T201 - the command's voice
