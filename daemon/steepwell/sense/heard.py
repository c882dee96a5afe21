"""What is published on a topic, as it looks to somebody who has never seen the device."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass, field
from itertools import pairwise
from statistics import median
from typing import TYPE_CHECKING, NamedTuple

from steepwell.errors import MessageRefusedError
from steepwell.sense.moments import EARLIEST_MS, moment_of
from steepwell.sense.senml import resolve
from steepwell.sense.senml_cbor import is_cbor_pack, pack_of
from steepwell.sense.text import finite, json_of, number_and_unit, text_of

if TYPE_CHECKING:
    from collections.abc import Iterator

# A pointer deeper than that, or more places than that, are nothing to choose from.
DEEPEST, MOST_PLACES = 6, 60
# Messages of a topic that are looked at.
MOST_KEPT = 500
# Two devices on one topic are told by what comes much closer together than the rest, or by counts
# and distances that jump to and fro.
FEWEST_FOR_TWO, TO_AND_FRO, FAR_APART = 6, 0.6, 4.0
SOON = 0.25


class Place(NamedTuple):
    """Where a number stands in the messages of a topic.

    Attributes
    ----------
    kind
        ``senml``, ``json`` or ``number``.
    where
        Name of the record, pointer, or nothing.
    unit
        That stands with it, or None.
    """

    kind: str
    where: str
    unit: str | None


@dataclass(slots=True)
class Topic:
    """What was heard on one topic.

    Attributes
    ----------
    name
        The topic.
    arrivals_s
        When messages came that were not retained [s].
    values
        Numbers at each place.
    time_pointer
        Where a time stands in JSON, or None.
    retained
        The message the broker kept, or None.
    said
        The last message.
    why_not
        Why the last one could not be read, or None.
    """

    name: str
    arrivals_s: list[float] = field(default_factory=list)
    values: dict[Place, list[float]] = field(default_factory=dict)
    time_pointer: str | None = None
    retained: bytes | None = None
    said: bytes = b""
    why_not: str | None = None

    def hear(self, payload: bytes, at_s: float, *, retained: bool) -> None:
        """Take a message in; ``at_s`` is when it came [s]."""
        self.said = payload
        if retained:
            self.retained = payload
        else:
            _keep(self.arrivals_s, at_s)
        try:
            self._read(payload)
        except MessageRefusedError as error:
            self.why_not = str(error)
        else:
            self.why_not = None

    def interval_s(self) -> float | None:
        """Return the usual time between two messages, None before there are two [s]."""
        gaps = self._gaps_s()
        return median(gaps) if gaps else None

    def has_two_voices(self) -> bool:
        """Return whether it looks as if two devices spoke on the topic in turn."""
        gaps = self._gaps_s()
        if len(gaps) >= FEWEST_FOR_TWO and min(max(gaps[::2]), max(gaps[1::2])) < SOON * max(
            min(gaps[::2]), min(gaps[1::2])
        ):
            return True
        return any(_goes_to_and_fro(values) for values in self.values.values())

    def _gaps_s(self) -> list[float]:
        return [
            after - before
            for before, after in zip(self.arrivals_s, self.arrivals_s[1:], strict=False)
        ]

    def _read(self, payload: bytes) -> None:
        if is_cbor_pack(payload):
            self._read_pack(pack_of(payload))
            return
        text = text_of(payload)
        try:
            value, unit = number_and_unit(text)
        except MessageRefusedError:
            document = json_of(payload)
        else:
            self._note(Place("number", "", unit), value)
            return
        if isinstance(document, list):
            try:
                self._read_pack(document)
            except MessageRefusedError:
                pass
            else:
                return
        for pointer, found in _numbers(document, "", 0):
            if len(self.values) < MOST_PLACES:
                self._note(*_json_place(pointer, found))
        self.time_pointer = next(
            (pointer for pointer, found in _leaves(document, "", 0) if _is_time(pointer, found)),
            self.time_pointer,
        )

    def _read_pack(self, pack: object) -> None:
        for record in resolve(pack):
            if isinstance(record.value, float) and not isinstance(record.value, bool):
                self._note(Place("senml", record.name, record.unit), record.value)

    def _note(self, place: Place, value: float) -> None:
        _keep(self.values.setdefault(place, []), value)


def _keep(values: list[float], value: float) -> None:
    values.append(value)
    if len(values) > 2 * MOST_KEPT:
        del values[:-MOST_KEPT]


def _goes_to_and_fro(values: list[float]) -> bool:
    """Return whether every other value belongs to another series."""
    if len(values) < FEWEST_FOR_TWO:
        return False
    moves = [b - a for a, b in pairwise(values)]
    strides = [abs(b - a) for a, b in zip(values, values[2:], strict=False)]
    turns = sum(first * second < 0 for first, second in pairwise(moves))
    return median(abs(move) for move in moves) > 4 * median(strides) and turns >= TO_AND_FRO * (
        len(values) - 2
    )


def _json_place(pointer: str, found: object) -> tuple[Place, float]:
    if isinstance(found, str):
        value, unit = number_and_unit(found)
        return Place("json", pointer, unit), value
    return Place("json", pointer, None), finite(found, pointer)


def _numbers(document: object, pointer: str, depth: int) -> Iterator[tuple[str, object]]:
    """Yield every number of a document that is no time, with its pointer."""
    for where, found in _leaves(document, pointer, depth):
        if _is_time(where, found):
            continue
        try:
            _json_place(where, found)
        except MessageRefusedError:
            continue
        yield where, found


def _leaves(document: object, pointer: str, depth: int) -> Iterator[tuple[str, object]]:
    if depth > DEEPEST:
        return
    if isinstance(document, dict):
        for key, inner in document.items():
            yield from _leaves(inner, f"{pointer}/{_escaped(key)}", depth + 1)
    elif isinstance(document, list):
        for index, inner in enumerate(document):
            yield from _leaves(inner, f"{pointer}/{index}", depth + 1)
    elif isinstance(document, (str, int, float)) and not isinstance(document, bool):
        yield pointer, document


def _escaped(key: str) -> str:
    return key.replace("~", "~0").replace("/", "~1")


_LIKE_A_TIME = re.compile(r"time|stamp|date|\bat$|\bts$|\bt$|when|clock", re.IGNORECASE)


def _is_time(pointer: str, found: object) -> bool:
    """Return whether a value can be a time of these years, and is called like one if a number."""
    if isinstance(found, str) and not re.match(r"\d{4}-?\d\d-?\d\d", found):
        return False
    try:
        at_ms = moment_of(found)
    except MessageRefusedError:
        return False
    if isinstance(found, str):
        return True
    return at_ms >= EARLIEST_MS and _LIKE_A_TIME.search(pointer.rsplit("/", 1)[-1]) is not None


def shown_payload(payload: bytes, most: int = 60) -> str:
    """Return the beginning of a message as it can be printed."""
    if is_cbor_pack(payload):
        return f"CBOR, {len(payload)} bytes: {payload[:12].hex()}..."
    text = json.dumps(payload[: 4 * most].decode(errors="replace"), ensure_ascii=False)[1:-1]
    text = text.replace('\\"', '"')
    return text if len(text) <= most else f"{text[:most]}..."
