"""Puts what the models refuse into words for the person who wrote the file."""

from __future__ import annotations

import difflib
import re
from typing import TYPE_CHECKING, Any, get_args

from pydantic import BaseModel

from steepwell.garden.garden import Garden
from steepwell.garden.links import Link

if TYPE_CHECKING:
    from pydantic import ValidationError
    from pydantic_core import ErrorDetails

    from steepwell.garden.scan import Steps

_HIDDEN = {"folder"}
_TAGS = ("kind", "measures")
_LONGEST_SHOWN = 80
_WANTED = {
    "bool_parsing": "true or false",
    "bool_type": "true or false",
    "float_parsing": "a number",
    "float_type": "a number",
    "finite_number": "a number",
    "greater_than": "more than {gt:g}",
    "greater_than_equal": "at least {ge:g}",
    "int_from_float": "a whole number",
    "int_parsing": "a whole number",
    "int_type": "a whole number",
    "less_than": "less than {lt:g}",
    "less_than_equal": "at most {le:g}",
    "model_type": "keys with values, under a [heading] or in {{ }}",
    "model_attributes_type": "keys with values, under a [heading] or in {{ }}",
    "path_type": "a path in quotes",
    "string_pattern_mismatch": "a name of small letters, digits and hyphens",
    "string_too_long": "at most {max_length} characters",
    "string_too_short": "at least {min_length} character",
    "string_type": "text in quotes",
    "too_short": "at least one",
}


def shape_faults(error: ValidationError, raw: dict[str, Any]) -> list[Link]:
    """Return what the models refuse, one fault for each place.

    Parameters
    ----------
    error
        What pydantic reports.
    raw
        The parsed file.

    Returns
    -------
    list of Link
        In pydantic's order, without repeats.
    """
    faults: dict[Steps, Link] = {}
    for detail in error.errors(include_url=False):
        where = _without_union_tags(detail, raw)
        faults.setdefault(where, Link(where, _found(detail, where), _wanted(detail, where, raw)))
    return list(faults.values())


def _without_union_tags(detail: ErrorDetails, raw: object) -> Steps:
    """Keep the steps of a location that exist in the file, and a missing key at its end."""
    kept: list[int | str] = []
    here: Any = raw
    for step in detail["loc"]:
        inside = (isinstance(here, dict) and step in here) or (
            isinstance(here, list) and isinstance(step, int) and step < len(here)
        )
        if inside:
            here = here[step]
            kept.append(step)
    if detail["type"] == "missing":
        kept.append(detail["loc"][-1])
    return tuple(kept)


def _found(detail: ErrorDetails, where: Steps) -> str:
    match detail["type"]:
        case "extra_forbidden":
            return f"an unknown key {where[-1]!r}"
        case "missing" | "union_tag_not_found":
            return "nothing"
        case "union_tag_invalid":
            return repr(detail["ctx"]["tag"])
        case _:
            return _as_written(detail["input"])


def _wanted(detail: ErrorDetails, where: Steps, raw: dict[str, Any]) -> str:
    context = detail.get("ctx", {})
    match detail["type"]:
        case "extra_forbidden":
            wanted = _near_key(where, raw)
        case "missing":
            wanted = f"{where[-1]}, which is needed here"
        case "union_tag_not_found":
            wanted = f"{_bare(context['discriminator'])}, which is needed here"
        case "union_tag_invalid":
            choice = _one_of(context["tag"], context["expected_tags"])
            wanted = f"for {_bare(context['discriminator'])} {choice}"
        case "literal_error":
            wanted = _one_of(detail["input"], context["expected"])
        case "tuple_type":
            wanted = _wanted_list(where)
        case kind if kind in _WANTED:
            wanted = _WANTED[kind].format(**context)
        case _:
            wanted = str(detail["msg"]).removeprefix("Value error, ")
    return wanted


def _bare(quoted: str) -> str:
    return quoted.strip("'")


def _as_written(value: object) -> str:
    if isinstance(value, dict):
        return "these values together"
    if isinstance(value, list):
        return "a list"
    if isinstance(value, bool):
        return str(value).lower()
    shown = repr(value) if isinstance(value, str) else str(value)
    return shown if len(shown) <= _LONGEST_SHOWN else shown[: _LONGEST_SHOWN - 3] + "..."


def _wanted_list(where: Steps) -> str:
    if len(where) == 1:
        return f"[[{where[0]}]] in double brackets, for there may be several"
    return "a list in square brackets"


def _one_of(found: object, expected: str) -> str:
    known = re.findall(r"'([^']*)'", expected)
    near = difflib.get_close_matches(str(found), known, n=1)
    hint = f"; did you mean {near[0]!r}?" if near else ""
    return f"one of {', '.join(map(repr, known))}{hint}"


def _near_key(where: Steps, raw: dict[str, Any]) -> str:
    known = _known_keys(where[:-1], raw)
    near = difflib.get_close_matches(str(where[-1]), known, n=1)
    if near:
        return f"did you mean {near[0]!r}?"
    return f"one of {', '.join(sorted(known))}" if known else "no such key"


def _known_keys(parents: Steps, raw: dict[str, Any]) -> set[str]:
    models: list[type[BaseModel]] = [Garden]
    here: Any = raw
    for step in parents:
        here = here[step]
        if isinstance(step, str):
            models = [
                found
                for model in models
                if step in model.model_fields
                for found in _models_in(model.model_fields[step].annotation)
            ]
    meant = [model for model in models if _is_meant(model, here)]
    return {key for model in meant or models for key in model.model_fields} - _HIDDEN


def _is_meant(model: type[BaseModel], part: dict[str, Any]) -> bool:
    """Whether a part says of itself that it is of this kind, as shapes and sensors do."""
    return all(
        part.get(tag) in get_args(model.model_fields[tag].annotation)
        for tag in _TAGS
        if tag in model.model_fields
    )


def _models_in(annotation: object) -> list[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [model for part in get_args(annotation) for model in _models_in(part)]
