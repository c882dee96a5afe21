"""SenML packs in CBOR (RFC 8428, section 6), brought to the labels that packs in JSON have."""

from __future__ import annotations

from decimal import Decimal
from io import BytesIO
from typing import Any

from steepwell.errors import MessageRefusedError
from steepwell.sense.text import check_size

# First bytes of a CBOR array (RFC 8949, appendix B); no text in UTF-8 begins with any of them.
_FIRST, _LAST = 0x80, 0x9F
# RFC 8428, section 6, table 4. There "ut" and "vd" have no number below theirs in JSON.
_LABELS = {
    -1: "bver", -2: "bn", -3: "bt", -4: "bu", -5: "bv", -6: "bs",
    0: "n", 1: "u", 2: "v", 3: "vs", 4: "vb", 5: "s", 6: "t", 7: "ut", 8: "vd",
}  # fmt: skip
DEEPEST = 8


def is_cbor_pack(payload: bytes) -> bool:
    """Return whether a message begins as a list in CBOR does, and so is none in JSON."""
    return bool(payload) and _FIRST <= payload[0] <= _LAST


def pack_of(payload: bytes) -> object:
    """Return a pack in CBOR as one in JSON would be parsed, except that data stay bytes.

    Raises
    ------
    MessageRefusedError
        If it is too long, or no CBOR.
    """
    import cbor2  # noqa: PLC0415 - most gardens do without

    check_size(payload)
    rest = BytesIO(payload)
    try:
        raw = cbor2.CBORDecoder(rest, read_size=1, max_depth=DEEPEST).decode()
        pack = [_record(each) for each in raw] if isinstance(raw, list) else raw
    except Exception as error:  # noqa: BLE001 - the library lets through what its parts raise
        raise MessageRefusedError(f"this is no CBOR: {str(error)[:80]}") from None
    if rest.tell() != len(payload):
        raise MessageRefusedError(f"this is no CBOR: more than one value, from byte {rest.tell()}")
    return pack


def _record(raw: object) -> object:
    if not isinstance(raw, dict):
        return raw
    record: dict[str, Any] = {}
    for key, value in raw.items():
        label = _LABELS.get(key) if type(key) is int else key
        if isinstance(label, str):
            record[label] = float(value) if isinstance(value, Decimal) else value
    return record
