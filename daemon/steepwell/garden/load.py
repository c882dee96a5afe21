"""Reads a garden file and reports every fault in it at once."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from steepwell.errors import Fault, GardenFileError
from steepwell.garden.faults import shape_faults
from steepwell.garden.fit import misfits
from steepwell.garden.garden import Garden
from steepwell.garden.links import Link, broken_links
from steepwell.garden.scan import find_line

_ONE_OF_A_KIND = ("butt", "vessel")


def load_garden(path: Path) -> Garden:
    """Read a garden file.

    Parameters
    ----------
    path
        The TOML file.

    Returns
    -------
    Garden
        With every quantity in the units used inside.

    Raises
    ------
    GardenFileError
        If the file has faults; the error lists all of them.
    """
    text = _read(path)
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        reason, _, place = str(error).partition(" (at line ")
        line = place.partition(",")[0]
        raise _unusable(
            path, f"no TOML: {reason}", "a file in TOML", int(line) if line.isdecimal() else None
        ) from None
    return garden_from(raw, text=text, path=path)


def _read(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8-sig")
    except OSError as error:
        reason = (error.strerror or "a file that cannot be read").lower()
        raise _unusable(path, reason, "a garden file that can be read") from None
    except UnicodeDecodeError:
        raise _unusable(path, "bytes that are no UTF-8", "a text file in UTF-8") from None


def _unusable(path: Path, found: str, wanted: str, line: int | None = None) -> GardenFileError:
    return GardenFileError(str(path), [Fault("file", line, found, wanted)])


def garden_from(raw: dict[str, Any], *, text: str = "", path: Path = Path("garden.toml")) -> Garden:
    """Make a garden from the parsed file.

    Parameters
    ----------
    raw
        The parsed TOML.
    text
        The file as text, to find the line of a fault.
    path
        The file, for the report; its folder is where relative paths begin.

    Returns
    -------
    Garden
        With every quantity in the units used inside.

    Raises
    ------
    GardenFileError
        If there are faults; the error lists all of them.
    """
    garden: Garden | None = None
    links: list[Link] = []
    try:
        garden = Garden.model_validate({**raw, "folder": path.parent})
    except ValidationError as error:
        links += shape_faults(error, raw)
    else:
        links += misfits(garden)
    links += [*broken_links(raw), *_missing_sections(raw)]
    if "folder" in raw:
        links.append(Link(("folder",), "an unknown key 'folder'", "no such key"))
    if garden is None or links:
        raise GardenFileError(str(path), _faults(links, text))
    return garden


def _faults(links: list[Link], text: str) -> list[Fault]:
    """Return the faults in the order of their lines, the first found for each place."""
    places: dict[tuple[int | str, ...], Link] = {}
    for link in links:
        places.setdefault(link.where, link)
    faults = [
        Fault(_key_path(link.where), find_line(text, link.where), link.found, link.wanted)
        for link in places.values()
    ]
    return sorted(faults, key=lambda fault: fault.line or 0)


def _missing_sections(raw: dict[str, Any]) -> list[Link]:
    if any(raw.get(kind) for kind in _ONE_OF_A_KIND):
        return []
    return [Link(("butt",), "no butt and no vessel", "at least one [[butt]] or [[vessel]]")]


def _key_path(where: tuple[int | str, ...]) -> str:
    path = ""
    for step in where:
        path += f"[{step + 1}]" if isinstance(step, int) else f".{step}" if path else step
    return path
