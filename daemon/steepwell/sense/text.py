"""Numbers, JSON and pointers into JSON, read strictly from the bytes of a message."""

from __future__ import annotations

import json
import math
import re
from typing import Any, NoReturn

from steepwell.errors import MessageRefusedError

LARGEST_MESSAGE_BYTES = 262_144
LARGEST_WHOLE_NUMBER = 2**53
SHOWN_CHARACTERS = 40

_NUMBER = re.compile(
    r"\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*([A-Za-z%/][A-Za-z0-9%/]{0,15})?\s*",
    re.ASCII,
)
_ARRAY_INDEX = re.compile(r"0|[1-9]\d*", re.ASCII)


def check_size(payload: bytes) -> None:
    """Refuse a payload that is too long to be read.

    Raises
    ------
    MessageRefusedError
        If it is.
    """
    if len(payload) > LARGEST_MESSAGE_BYTES:
        raise MessageRefusedError(
            f"{len(payload):,} bytes are too much for a message; at most "
            f"{LARGEST_MESSAGE_BYTES:,} are read"
        )


def text_of(payload: bytes) -> str:
    """Return a payload as text.

    Raises
    ------
    MessageRefusedError
        If it is too long, or no UTF-8.
    """
    check_size(payload)
    try:
        return payload.decode()
    except UnicodeDecodeError:
        raise MessageRefusedError("this is no text: the bytes are no UTF-8") from None


def _refuse_constant(name: str) -> NoReturn:
    raise MessageRefusedError(f"{name} is no number, and no JSON")


_JSON_SPACE = " \t\n\r"
_DECODER = json.JSONDecoder(parse_constant=_refuse_constant)


def json_of(payload: bytes) -> Any:  # noqa: ANN401 - whatever JSON can hold
    """Return a payload as parsed JSON.

    Raises
    ------
    MessageRefusedError
        If it is too long, no UTF-8, no JSON, or nested too deep.
    """
    text = text_of(payload).strip(_JSON_SPACE)
    try:
        document, end = _DECODER.raw_decode(text)
    except RecursionError:
        raise MessageRefusedError("this JSON is nested too deep to be read") from None
    except ValueError as error:
        raise MessageRefusedError(f"this is no JSON: {str(error)[:80]}") from None
    if end != len(text):
        raise MessageRefusedError(f"this is no JSON: more than one value, from character {end} on")
    return document


def finite(value: object, what: str) -> float:
    """Return a number from JSON as a float.

    Parameters
    ----------
    value
        What stood in the JSON.
    what
        What to call it in a message.

    Raises
    ------
    MessageRefusedError
        If it is no number, or too large a one.
    """
    if type(value) is float:
        if math.isfinite(value):
            return value
    elif type(value) is int:
        if -LARGEST_WHOLE_NUMBER <= value <= LARGEST_WHOLE_NUMBER:
            return float(value)
    else:
        raise MessageRefusedError(f"{what} is {shown(value)}, and should be a number")
    raise MessageRefusedError(f"{what} is too large a number")


def number_and_unit(text: str) -> tuple[float, str | None]:
    """Return the number a text consists of, and the unit behind it if there is one.

    Raises
    ------
    MessageRefusedError
        If it does not begin with a number.
    """
    match = _NUMBER.fullmatch(text)
    if match is None:
        raise MessageRefusedError(f"{shown(text)} is no number")
    value = float(match[1])
    if not math.isfinite(value):
        raise MessageRefusedError("the value is too large a number")
    return value, match[2] or None


def shown(value: object) -> str:
    """Return a value as it can stand in a message."""
    if isinstance(value, dict):
        return "an object"
    if isinstance(value, list):
        return "a list"
    text = (
        "null" if value is None else str(value).lower() if value in (True, False) else repr(value)
    )
    return text if len(text) <= SHOWN_CHARACTERS else f"{text[:SHOWN_CHARACTERS]}..."


class JsonPointer:
    """A place in a JSON document (RFC 6901).

    Parameters
    ----------
    pointer
        As written, for instance ``/water/level``.
    """

    def __init__(self, pointer: str) -> None:
        self._pointer = pointer
        parts = pointer.split("/")[1:]
        self._steps = [part.replace("~1", "/").replace("~0", "~") for part in parts]

    def find(self, document: object) -> object:
        """Return what stands there.

        Raises
        ------
        MessageRefusedError
            If nothing does.
        """
        here = document
        for step in self._steps:
            if isinstance(here, dict) and step in here:
                here = here[step]
            elif isinstance(here, list) and _ARRAY_INDEX.fullmatch(step) and int(step) < len(here):
                here = here[int(step)]
            else:
                raise MessageRefusedError(f"there is nothing at {self._pointer!r} in this message")
        return here
