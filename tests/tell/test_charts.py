from __future__ import annotations

import io
import struct
import subprocess
import sys
import zlib
from itertools import pairwise
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree as ET

import pytest
from matplotlib.image import imread

from steepwell.tell.charts import MIDDLE, NARROW, WARNING, WIDE, water_ahead_png, water_ahead_svg

if TYPE_CHECKING:
    from collections.abc import Iterator

Json = dict[str, Any]
TEXT = "{http://www.w3.org/2000/svg}text"
DRY_LINE_L = 12.6


def chunks(png: bytes) -> Iterator[tuple[bytes, bytes]]:
    """Yield the chunks of a PNG (PNG 1.2, section 3.2)."""
    at = 8
    while at < len(png):
        (length,) = struct.unpack(">I", png[at : at + 4])
        kind, data = png[at + 4 : at + 8], png[at + 8 : at + 8 + length]
        (crc,) = struct.unpack(">I", png[at + 8 + length : at + 12 + length])
        assert zlib.crc32(kind + data) == crc
        yield kind, data
        at += 12 + length


def words(svg: bytes) -> list[str]:
    root = ET.fromstring(svg)  # noqa: S314 - our own
    return [str(each.text).strip() for each in root.iter(TEXT)]


def test_the_png_is_twice_its_shown_size(outlook: Json) -> None:
    png = water_ahead_png(outlook, dry_line_l=DRY_LINE_L)
    (_, header), *_ = chunks(png)
    assert struct.unpack(">II", header[:8]) == (1280, 720)
    assert len(png) < 150_000


def test_the_png_says_nothing_of_who_drew_it_and_when(outlook: Json) -> None:
    png = water_ahead_png(outlook, dry_line_l=DRY_LINE_L)
    kinds = {kind for kind, _ in chunks(png)}
    assert not kinds & {b"tEXt", b"zTXt", b"iTXt", b"tIME"}
    assert png == water_ahead_png(outlook, dry_line_l=DRY_LINE_L)


def test_the_lines_carry_their_names(outlook: Json) -> None:
    said = words(water_ahead_svg(outlook, dry_line_l=DRY_LINE_L))
    assert {"now 310 L", "full, 630 L", "dry", "litres"} <= set(said)
    # 6 June to 3 October: the firsts of four months lie within.
    assert {"1 Jul", "1 Aug", "1 Sep"} <= set(said)


def test_a_short_outlook_names_its_weeks(outlook: Json) -> None:
    outlook["days"] = outlook["days"][:28]
    for fan in (outlook["water"]["volume_l"], *(each["volume_l"] for each in outlook["butts"])):
        fan |= {name: row[:28] for name, row in fan.items()}
    said = words(water_ahead_svg(outlook, dry_line_l=DRY_LINE_L))
    assert {"7 Jun", "14 Jun", "21 Jun", "28 Jun"} <= set(said)


def test_what_lies_below_the_taps_is_not_drawn(outlook: Json) -> None:
    said = words(water_ahead_svg(outlook, dry_line_l=DRY_LINE_L, below_taps_l=30.0))
    assert {"now 280 L", "full, 600 L"} <= set(said)


def test_the_svg_is_the_same_each_time(outlook: Json) -> None:
    svg = water_ahead_svg(outlook, dry_line_l=DRY_LINE_L)
    assert svg == water_ahead_svg(outlook, dry_line_l=DRY_LINE_L)
    assert b"dc:date" not in svg


def luminance(colour: str) -> float:
    """Return the relative luminance of a colour (WCAG 2.1, definition of relative luminance)."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [
        part / 12.92 if part <= 0.03928 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    ]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Return the contrast of two colours (WCAG 2.1, definition of contrast ratio)."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_fan_is_read_without_seeing_colours() -> None:
    # Common practice, no source: neighbours that differ by less than 1.25 look one grey.
    for one, other in pairwise(["#ffffff", WIDE, NARROW, MIDDLE]):
        assert contrast(one, other) > 1.25
    # WCAG 2.1, success criteria 1.4.3 and 1.4.11: text 4.5, what must be seen 3.
    assert contrast(WARNING, "#ffffff") > 4.5
    assert contrast(MIDDLE, WIDE) > 3
    assert contrast(MIDDLE, NARROW) > 3


def test_the_median_is_drawn_where_it_lies(outlook: Json) -> None:
    # A level that never changes, at half of what the butts hold, is one dark line across.
    for name in outlook["water"]["volume_l"]:
        outlook["water"]["volume_l"][name] = [315.0] * len(outlook["days"])
    outlook["butts"][0]["now_l"] += 5.0
    picture = imread(io.BytesIO(water_ahead_png(outlook, dry_line_l=DRY_LINE_L)))[:, :, :3]
    wanted = [int(MIDDLE[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    rows = (abs(picture - wanted).max(axis=2) < 0.02).sum(axis=1)
    assert rows.max() > 1000
    middle = int(rows.argmax())
    # The axis begins 13.5 % above the foot and is 84.5 % high; full is at 1/1.16 of it.
    at = (1 - middle / 720 - 0.135) / 0.845 * 1.16
    assert at == pytest.approx(0.5, abs=0.01)


def test_only_a_picture_loads_what_draws_it() -> None:
    code = (
        "import sys, steepwell.tell.letter, steepwell.tell.charts, steepwell.tell.outbox;"
        "print('matplotlib' in sys.modules)"
    )
    ran = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    assert ran.stdout.strip() == "False"
