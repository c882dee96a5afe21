from __future__ import annotations

import pytest

from steepwell.errors import MessageRefusedError
from steepwell.sense.text import JsonPointer, finite, json_of, number_and_unit, text_of

# RFC 6901, section 5: the example document and what each pointer finds in it.
DOCUMENT = {
    "foo": ["bar", "baz"],
    "": 0,
    "a/b": 1,
    "c%d": 2,
    "e^f": 3,
    "g|h": 4,
    "i\\j": 5,
    'k"l': 6,
    " ": 7,
    "m~n": 8,
}


@pytest.mark.parametrize(
    ("pointer", "found"),
    [
        ("", DOCUMENT),
        ("/foo", ["bar", "baz"]),
        ("/foo/0", "bar"),
        ("/", 0),
        ("/a~1b", 1),
        ("/c%d", 2),
        ("/e^f", 3),
        ("/g|h", 4),
        ("/i\\j", 5),
        ('/k"l', 6),
        ("/ ", 7),
        ("/m~0n", 8),
    ],
)
def test_a_pointer_finds_its_place(pointer: str, found: object) -> None:
    assert JsonPointer(pointer).find(DOCUMENT) == found


# RFC 6901, section 4: "~01" is "~1"; no leading zeros; "-" names no element that is there.
def test_escapes_are_undone_in_the_right_order() -> None:
    assert JsonPointer("/~01").find({"~1": 3}) == 3


@pytest.mark.parametrize("pointer", ["/foo/2", "/foo/00", "/foo/-", "/foo/-1", "/bar", "/foo/0/x"])
def test_a_pointer_to_nothing_is_refused(pointer: str) -> None:
    with pytest.raises(MessageRefusedError, match=f"there is nothing at '{pointer}'"):
        JsonPointer(pointer).find(DOCUMENT)


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("12", (12.0, None)),
        (" -3.5\r\n", (-3.5, None)),
        ("+.5", (0.5, None)),
        ("1e3", (1000.0, None)),
        ("12.", (12.0, None)),
        ("21.5 Cel", (21.5, "Cel")),
        ("40%", (40.0, "%")),
    ],
)
def test_a_number_may_have_a_unit(text: str, found: tuple[float, str | None]) -> None:
    assert number_and_unit(text) == found


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "'' is no number"),
        ("nan", "'nan' is no number"),
        ("inf", "'inf' is no number"),
        ("-Infinity", "'-Infinity' is no number"),
        ("true", "'true' is no number"),
        ("12,5", "'12,5' is no number"),
        ("٣", "is no number"),
        ("1e999", "the value is too large a number"),
        ("leek", "'leek' is no number"),
        ("x" * 100, r"\.\.\. is no number"),
    ],
)
def test_what_is_no_number_is_refused(text: str, message: str) -> None:
    with pytest.raises(MessageRefusedError, match=message):
        number_and_unit(text)


@pytest.mark.parametrize(
    ("value", "message"),
    [
        (True, "it is true, and should be a number"),
        (None, "it is null, and should be a number"),
        ("12", "it is '12', and should be a number"),
        ([1], "it is a list, and should be a number"),
        ({}, "it is an object, and should be a number"),
        (float("nan"), "it is too large a number"),
        (float("inf"), "it is too large a number"),
        (2**53 + 1, "it is too large a number"),
        (-(10**400), "it is too large a number"),
    ],
)
def test_what_is_no_finite_number_is_refused(value: object, message: str) -> None:
    with pytest.raises(MessageRefusedError, match=message):
        finite(value, "it")


@pytest.mark.parametrize("value", [0, -3, 2.5, 2**53])
def test_a_finite_number_is_taken(value: float) -> None:
    assert finite(value, "it") == float(value)


@pytest.mark.parametrize(
    ("payload", "message"),
    [
        (b"", "this is no JSON"),
        (b"{", "this is no JSON"),
        (b'{"v": 1} {"v": 2}', "this is no JSON"),
        (b'{"v": NaN}', "NaN is no number, and no JSON"),
        (b'{"v": -Infinity}', "-Infinity is no number, and no JSON"),
        (b"[" * 100_000, "nested too deep"),
        (b"[" * 100_000 + b"]" * 100_000, "nested too deep"),
        (b'{"v": ' + b"9" * 5000 + b"}", "this is no JSON"),
        (b"\xff\xfe1\x002\x00", "the bytes are no UTF-8"),
        (b'{"v": "\xe9"}', "the bytes are no UTF-8"),
        (b" " * 10_000_000, "10,000,000 bytes are too much for a message"),
    ],
)
def test_what_is_no_json_is_refused(payload: bytes, message: str) -> None:
    with pytest.raises(MessageRefusedError, match=message):
        json_of(payload)


def test_a_text_is_read_as_utf_8() -> None:
    assert text_of("21 °C".encode()) == "21 °C"
    assert json_of(b' {"v": [1, 2.5, "x", null]} ') == {"v": [1, 2.5, "x", None]}
