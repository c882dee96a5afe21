"""SenML packs (RFC 8428), resolved: each record with its full name, unit and time."""

from __future__ import annotations

import base64
import binascii
import re
from functools import lru_cache
from typing import Any, NamedTuple

from steepwell.errors import MessageRefusedError
from steepwell.sense.text import finite, shown

VERSION = 10
FIRST_ABSOLUTE_S = 2**28

_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9\-:./_]*", re.ASCII)
_BASE64_URL = re.compile(r"[A-Za-z0-9_-]*=*", re.ASCII)
_VALUES = ("v", "vs", "vb", "vd")
_BASE_ONLY = frozenset({"bn", "bt", "bu", "bv", "bs", "bver"})


class Record(NamedTuple):
    """One resolved record.

    Attributes
    ----------
    name
        Base name and name.
    unit
        Unit, or None.
    value
        Number, text, truth or bytes; None where there is only a sum.
    total
        Sum over time, or None.
    time_s
        Seconds since 1970 if 2^28 or more, else seconds from now (section 4.5.3).
    """

    name: str
    unit: str | None
    value: float | str | bool | bytes | None
    total: float | None
    time_s: float

    @property
    def is_relative(self) -> bool:
        """Whether the time counts from now."""
        return self.time_s < FIRST_ABSOLUTE_S


def resolve(pack: object) -> list[Record]:
    """Resolve a pack (section 4.6), except that times from now stay so and the order is kept.

    Parameters
    ----------
    pack
        Parsed JSON, or CBOR with the labels of JSON.

    Returns
    -------
    list of Record
        In the order of the pack.

    Raises
    ------
    MessageRefusedError
        If it is no SenML pack, or one this program must not use.
    """
    if not isinstance(pack, list) or not pack:
        raise MessageRefusedError("a SenML pack is a list of records, and this is none")
    base_name, base_unit = "", None
    base_time = 0.0
    base_value: float | None = None
    base_total: float | None = None
    records = []
    for raw in pack:
        if not isinstance(raw, dict):
            raise MessageRefusedError(f"a SenML record is an object, and this is {shown(raw)}")
        is_base_only = _BASE_ONLY.issuperset(raw)
        _check_labels(raw)
        if "bn" in raw:
            base_name = _text(raw, "bn")
        if "bt" in raw:
            base_time = finite(raw["bt"], "bt")
        if "bu" in raw:
            base_unit = _text(raw, "bu")
        if "bv" in raw:
            base_value = finite(raw["bv"], "bv")
        if "bs" in raw:
            base_total = finite(raw["bs"], "bs")
        if is_base_only:
            continue
        records.append(
            Record(
                _checked_name(base_name + (_text(raw, "n") if "n" in raw else "")),
                _text(raw, "u") if "u" in raw else base_unit,
                _value(raw, base_value),
                _total(raw, base_total),
                base_time + (finite(raw["t"], "t") if "t" in raw else 0.0),
            )
        )
    return records


def _check_labels(raw: dict[str, Any]) -> None:
    for label in raw:
        if label.endswith("_"):
            raise MessageRefusedError(f"{label!r} must be understood (RFC 8428), and is not")
    version = raw.get("bver", VERSION)
    if type(version) is not int or version < 1:
        raise MessageRefusedError(
            f"bver is {shown(version)}, and should be a positive whole number"
        )
    if version > VERSION:
        raise MessageRefusedError(
            f"this is SenML of version {version}; up to {VERSION} is understood"
        )


def _text(raw: dict[str, Any], label: str) -> str:
    value = raw[label]
    if not isinstance(value, str):
        raise MessageRefusedError(f"{label} is {shown(value)}, and should be a text")
    return value


@lru_cache(maxsize=1024)
def _checked_name(name: str) -> str:
    if not _NAME.fullmatch(name):
        raise MessageRefusedError(f"{shown(name)} is no name of a SenML record")
    return name


def _value(raw: dict[str, Any], base: float | None) -> float | str | bool | bytes | None:
    given = [label for label in _VALUES if label in raw]
    if len(given) > 1:
        raise MessageRefusedError(
            f"a SenML record has one value, and this has {' and '.join(given)}"
        )
    if not given:
        if base is None and "s" not in raw:
            raise MessageRefusedError("a SenML record has a value or a sum, and this has neither")
        return base
    label = given[0]
    value = raw[label]
    if label == "v":
        return finite(value, "v") + (base or 0.0)
    if label == "vb":
        if not isinstance(value, bool):
            raise MessageRefusedError(f"vb is {shown(value)}, and should be true or false")
        return value
    if label == "vd" and isinstance(value, bytes):
        return value
    text = _text(raw, label)
    return text if label == "vs" else _bytes(text)


def _bytes(text: str) -> bytes:
    if _BASE64_URL.fullmatch(text):
        try:
            return base64.urlsafe_b64decode(text + "=" * (-len(text) % 4))
        except binascii.Error:
            pass
    raise MessageRefusedError(f"vd is {shown(text)}, and should be base64 data")


def _total(raw: dict[str, Any], base: float | None) -> float | None:
    if "s" in raw:
        return finite(raw["s"], "s") + (base or 0.0)
    return base
