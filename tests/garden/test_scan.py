from __future__ import annotations

import tomllib
from dataclasses import dataclass, field

import pytest
from hypothesis import given
from hypothesis import strategies as st

from steepwell.garden.scan import find_line

Steps = tuple[int | str, ...]

TEXT = """\
# a comment with an = sign and [brackets]
title = "x = 3"

[garden]
name = "plot"
"quoted" = 1
site.latitude = 51.5

[[butt]]
name = "north"
shape = { kind = "box", height = "1 m" }

[[bed]]   # the first
name = "one"
crops = [
    { crop = "leek" },
]

[[bed]]
name = "two"
[bed.mulch]
cover = 1.0

[[bed.crops]]
crop = "pea"

[[ bed . crops ]]
crop = "kale"
"""


@pytest.mark.parametrize(
    ("where", "line"),
    [
        (("title",), 2),
        (("garden",), 4),
        (("garden", "name"), 5),
        (("garden", "quoted"), 6),
        (("garden", "site", "latitude"), 7),
        (("garden", "missing"), 4),
        (("butt", 0), 9),
        (("butt", 0, "shape", "height"), 11),
        (("bed", 0, "name"), 14),
        (("bed", 0, "crops", 0, "crop"), 15),
        (("bed", 0, "mulch", "cover"), 13),
        (("bed", 1, "name"), 20),
        (("bed", 1, "mulch", "cover"), 22),
        (("bed", 1, "crops", 0, "crop"), 25),
        (("bed", 1, "crops", 1, "crop"), 28),
        (("bed", 2, "name"), None),
        (("roof",), None),
        ((), None),
    ],
)
def test_a_key_is_found_where_it_stands_or_nearest_above(where: Steps, line: int | None) -> None:
    assert find_line(TEXT, where) == line


NAMES = st.from_regex(r"[a-z][a-z0-9_-]{0,8}", fullmatch=True)


@dataclass
class Document:
    lines: list[str] = field(default_factory=list)
    places: dict[Steps, int] = field(default_factory=dict)

    def add(self, line: str, where: Steps) -> None:
        self.lines.append(line)
        self.places[where] = len(self.lines)

    @property
    def text(self) -> str:
        return "\n".join(self.lines)


@st.composite
def documents(draw: st.DrawFn) -> Document:
    document = Document()
    for name in draw(st.lists(NAMES, min_size=1, max_size=4, unique=True)):
        if draw(st.booleans()):
            document.add(f"[{name}]", (name,))
            _add_keys(draw, document, (name,))
            continue
        for index in range(draw(st.integers(min_value=1, max_value=3))):
            document.lines += [""] * draw(st.integers(min_value=0, max_value=2))
            document.add(f"[[{name}]]", (name, index))
            used = _add_keys(draw, document, (name, index))
            parts = draw(st.lists(NAMES, max_size=2, unique=True))
            for part in sorted(set(parts) - set(used)):
                _add_members(draw, document, (name, index, part))
    return document


def _add_members(draw: st.DrawFn, document: Document, where: Steps) -> None:
    name, _, part = where
    for index in range(draw(st.integers(min_value=1, max_value=2))):
        document.add(f"[[{name}.{part}]]", (*where, index))
        _add_keys(draw, document, (*where, index))


def _add_keys(draw: st.DrawFn, document: Document, where: Steps) -> list[str]:
    keys = draw(st.lists(NAMES, max_size=3, unique=True))
    for key in keys:
        value = draw(st.sampled_from(["1", '"a = b"', '["x", "y"]', "{ a = 1 } # [note]"]))
        document.add(f"{' ' * draw(st.integers(0, 2))}{key} = {value}", (*where, key))
    return keys


@given(documents())
def test_every_key_of_any_document_is_found(document: Document) -> None:
    tomllib.loads(document.text)
    found = {where: find_line(document.text, where) for where in document.places}
    assert found == document.places
