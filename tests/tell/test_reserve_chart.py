"""The picture of the feed in hand."""

from __future__ import annotations

import io
import struct
from typing import Any

import pytest
from matplotlib.image import imread

from steepwell.tell.reserve_chart import reserve_png

Json = dict[str, Any]


def step(first: str, parts: int | None, cans: int = 0) -> Json:
    return {"from": first, "dilution_parts": parts, "cans": cans}


def document(*years: list[Json]) -> Json:
    names = ("leek", "nettle", "comfrey", "old")
    return {
        "issued": "2031-06-01T06:30:00+01:00",
        "year": [
            {"vessel": name, "litres": 45.0, "steps": steps}
            for name, steps in zip(names, years, strict=False)
        ],
    }


RIPE = [step("2031-06-01", 60, 305), step("2031-07-20", 150, 755), step("2032-01-10", 500, 2505)]
RAW = [step("2031-06-01", None), step("2031-07-01", 30, 155)]
UNKNOWN = [step("2031-06-01", None)]


@pytest.mark.parametrize(
    "years", [[], [RIPE], [UNKNOWN], [RIPE, RAW, UNKNOWN], [RIPE, RIPE, RIPE, RAW]]
)
def test_it_is_drawn_whatever_there_is(years: list[list[Json]]) -> None:
    png = reserve_png(document(*years))
    assert struct.unpack(">II", png[16:24]) == (1280, 720)
    assert png == reserve_png(document(*years))


def test_it_is_drawn_in_greys_the_thicker_the_darker() -> None:
    picture = imread(io.BytesIO(reserve_png(document(RIPE))))
    # A row through the bar, above its figures: one vessel stands in the middle of the frame.
    row = picture[300, :, :3]
    at_60, at_150, at_500 = row[100], row[500], row[1100]
    for colour in (at_60, at_150, at_500):
        assert float(colour.max() - colour.min()) < 0.01
    assert at_60[0] < at_150[0] < at_500[0]
