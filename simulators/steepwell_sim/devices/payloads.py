"""Writes messages as the hardware sends them."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import UTC, datetime
from os.path import commonprefix
from typing import Any

# SenML takes a time below this as seconds from now (RFC 8428, section 4.5.3), so that a device in
# a replay of an earlier year leaves the time out: none is now.
_EARLIEST_ABSOLUTE_S = 2**28
# What SenML calls units of ours (RFC 8428, section 12.1), and how many of them one of ours is.
_IN_SENML = {"%": ("/", 0.01), "L": ("m3", 0.001)}


@dataclass(frozen=True, slots=True)
class Figure:
    """One measured value and where it goes in a message.

    Attributes
    ----------
    value
        In ``unit``.
    unit
        As the garden file writes it.
    record
        Name of a SenML record.
    pointer, time_pointer
        Where value and time stand in a JSON document (RFC 6901).
    """

    value: float
    unit: str
    record: str | None = None
    pointer: str | None = None
    time_pointer: str | None = None


def as_number(figure: Figure) -> bytes:
    """Return a message that is nothing but a number."""
    return _plain(figure.value).encode()


def as_senml(figures: list[Figure], moment: datetime) -> bytes:
    """Return a SenML pack in JSON (RFC 8428).

    Parameters
    ----------
    figures
        One for each record of the pack; they share a base name as far as their names agree.
    moment
        When they were measured; the base time. Before July 1978 it must be now.

    Returns
    -------
    bytes
        The pack.
    """
    names = [figure.record or "" for figure in figures]
    base = commonprefix(names) if len(names) > 1 else ""  # noqa: RUF071 - names, not paths
    pack: list[dict[str, Any]] = []
    for name, figure in zip(names, figures, strict=True):
        record: dict[str, Any] = {}
        if not pack:
            record = {"bn": base} if base else {}
            if moment.timestamp() >= _EARLIEST_ABSOLUTE_S:
                record["bt"] = _seconds(moment)
        if name != base:
            record["n"] = name.removeprefix(base)
        unit, factor = _IN_SENML.get(figure.unit, (figure.unit, 1.0))
        pack.append({**record, "u": unit, "v": _short(figure.value * factor)})
    return json.dumps(pack, separators=(",", ":")).encode()


def as_json(figures: list[Figure], moment: datetime) -> bytes:
    """Return a JSON document with every value, and the time where one is wanted, in its place.

    Parameters
    ----------
    figures
        Each with its pointer.
    moment
        When they were measured; written as in RFC 3339, in UTC.

    Returns
    -------
    bytes
        The document.
    """
    document: Any = None
    told = moment.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")
    for figure in figures:
        if figure.time_pointer is not None:
            document = _put(document, _steps(figure.time_pointer), told)
        document = _put(document, _steps(figure.pointer or ""), _short(figure.value))
    return json.dumps(document, separators=(",", ":")).encode()


def _steps(pointer: str) -> list[str]:
    steps = pointer.split("/")[1:]
    return [step.replace("~1", "/").replace("~0", "~") for step in steps]


def _put(document: Any, steps: list[str], value: Any) -> Any:  # noqa: ANN401 - JSON is anything
    """Return a document with a value in its place; whole numbers are places in a list."""
    if not steps:
        return value
    step, rest = steps[0], steps[1:]
    if step.isdecimal() and not isinstance(document, dict):
        items = list(document or [])
        items += [None] * (int(step) + 1 - len(items))
        items[int(step)] = _put(items[int(step)], rest, value)
        return items
    members = dict(document or {})
    members[step] = _put(members.get(step), rest, value)
    return members


def _seconds(moment: datetime) -> float:
    seconds = moment.timestamp()
    return int(seconds) if seconds == int(seconds) else round(seconds, 3)


def _short(value: float) -> float:
    rounded = round(value, 6)
    return int(rounded) if rounded == int(rounded) else rounded


def _plain(value: float) -> str:
    return f"{round(value, 6):.6f}".rstrip("0").rstrip(".")
