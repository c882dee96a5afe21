"""Reads a garden file and reports every fault in it at once."""

from __future__ import annotations

import difflib
import tomllib
from pathlib import Path
from typing import Any, get_args

from pydantic import BaseModel, ValidationError

from steepwell.errors import Fault, GardenFileError
from steepwell.garden.garden import Garden
from steepwell.garden.links import Link, broken_links
from steepwell.garden.scan import find_line

_HIDDEN = {"folder"}
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
    try:
        text = path.read_text(encoding="utf-8")
    except OSError as error:
        reason = error.strerror or "it cannot be read"
        raise GardenFileError(
            str(path), [Fault("file", None, reason.lower(), "a garden file that can be read")]
        ) from None
    except UnicodeDecodeError:
        raise GardenFileError(
            str(path), [Fault("file", None, "bytes that are no UTF-8", "a text file in UTF-8")]
        ) from None
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise GardenFileError(
            str(path), [Fault("file", None, f"no TOML: {error}", "a file in TOML")]
        ) from None
    return garden_from(raw, text=text, path=path)


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
    links: list[Link] = list(broken_links(raw)) + list(_missing_sections(raw))
    try:
        garden = Garden.model_validate({**raw, "folder": path.parent})
    except ValidationError as error:
        links = [*_shape_faults(error, raw), *links]
    if "folder" in raw:
        links.append(Link(("folder",), "an unknown key", "no such key"))
    if links:
        faults = [
            Fault(_key_path(link.where), find_line(text, link.where), link.found, link.wanted)
            for link in links
        ]
        faults.sort(key=lambda fault: fault.line or 0)
        raise GardenFileError(str(path), faults)
    return garden


def _missing_sections(raw: dict[str, Any]) -> list[Link]:
    missing = []
    if not any(raw.get(kind) for kind in _ONE_OF_A_KIND):
        missing.append(Link(("butt",), "no butt and no vessel", "at least one [[butt]] or [[vessel]]"))
    if not raw.get("bed"):
        missing.append(
            Link(("bed",), "no bed", 'at least one [[bed]], for instance "all" with its area')
        )
    return missing


def _shape_faults(error: ValidationError, raw: dict[str, Any]) -> list[Link]:
    faults = []
    for detail in error.errors(include_url=False):
        where = _without_union_tags(detail["loc"], raw)
        if where == ("folder",):
            continue
        found, wanted = _in_words(detail, where)
        faults.append(Link(where, found, wanted))
    return faults


def _without_union_tags(loc: tuple[int | str, ...], raw: object) -> tuple[int | str, ...]:
    """Keep the steps of a location that exist in the file, and the last one."""
    kept: list[int | str] = []
    here = raw
    for index, step in enumerate(loc):
        inside = (isinstance(here, dict) and step in here) or (
            isinstance(here, list) and isinstance(step, int) and step < len(here)
        )
        if inside:
            here = here[step]  # type: ignore[index, call-overload]
            kept.append(step)
        elif index == len(loc) - 1 and isinstance(here, dict) and "[" not in str(step):
            kept.append(step)
    return tuple(kept)


def _in_words(detail: Any, where: tuple[int | str, ...]) -> tuple[str, str]:  # noqa: ANN401
    kind, value = detail["type"], detail["input"]
    if kind == "extra_forbidden":
        return f"an unknown key {where[-1]!r}", _near_key(where)
    if kind == "missing":
        return "nothing", f"{where[-1]}, which is needed here"
    shown = repr(value) if not isinstance(value, dict) else "these values together"
    message = str(detail["msg"]).removeprefix("Value error, ")
    return (shown if len(shown) <= 80 else shown[:77] + "..."), message


def _near_key(where: tuple[int | str, ...]) -> str:
    known = _known_keys(where[:-1])
    near = difflib.get_close_matches(str(where[-1]), known, n=1)
    if near:
        return f"did you mean {near[0]!r}?"
    return f"one of {', '.join(sorted(known))}" if known else "no such key"


def _known_keys(parents: tuple[int | str, ...]) -> set[str]:
    models: list[type[BaseModel]] = [Garden]
    for step in parents:
        if isinstance(step, str):
            models = [
                found
                for model in models
                if step in model.model_fields
                for found in _models_in(model.model_fields[step].annotation)
            ]
    return {key for model in models for key in model.model_fields} - _HIDDEN


def _models_in(annotation: object) -> list[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [model for part in get_args(annotation) for model in _models_in(part)]


def _key_path(where: tuple[int | str, ...]) -> str:
    path = ""
    for step in where:
        path += f"[{step + 1}]" if isinstance(step, int) else f".{step}" if path else step
    return path
