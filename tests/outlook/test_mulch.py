"""What mulch covers: kept up as the garden file says, or laid, worn thin and laid again."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from tests.gardens import make_garden

from steepwell.garden.tables import reference_tables
from steepwell.outlook.mulch import mulch_cover
from steepwell.store.entries import Mulched

Json = dict[str, Any]

FIRST = date(2031, 6, 1)
NOON = datetime(2031, 6, 1, 12, tzinfo=UTC)
GRASS = reference_tables().mulch("grass-clippings")
STRAW = reference_tables().mulch("straw")


def cover(*entries: Mulched, days: int = 60, **bed: object) -> list[float]:
    garden = make_garden(bed=[{"name": "beans", "area": "6 m2", **bed}])
    found: list[float] = mulch_cover(garden, garden.bed[0], FIRST, days, entries).tolist()
    return found


def laid(material: str, depth_mm: float, *, day: int = 0, cover: float = 1.0) -> Mulched:
    at = NOON + timedelta(days=day)
    return Mulched(at=at, bed="beans", material=material, depth_mm=depth_mm, cover=cover)


def test_open_ground_is_not_covered() -> None:
    assert cover() == [0.0] * 60


@pytest.mark.parametrize(
    ("mulch", "expected"),
    [
        ({"material": "straw", "cover": "80 %"}, 0.8),
        ({"cover": 0.6}, 0.6),
        # Half as thick as covers covers half.
        ({"material": "straw", "cover": "80 %", "depth": f"{STRAW.covers_mm / 2} mm"}, 0.4),
        ({"material": "straw", "depth": "1 m"}, 1.0),
    ],
)
def test_what_the_garden_file_says_is_kept_up(mulch: Json, expected: float) -> None:
    assert cover(mulch=mulch) == pytest.approx([expected] * 60)


def test_what_was_laid_counts_from_its_day_and_wears_thin() -> None:
    days = cover(laid("grass-clippings", 2 * GRASS.covers_mm, day=3))
    half_life_d = int(GRASS.half_life_d)
    # Twice as thick as it must be covers all for one half-life, then half of it after the next.
    assert days[:3] == [0.0] * 3
    assert days[3 : 4 + half_life_d] == pytest.approx([1.0] * (half_life_d + 1))
    assert days[3 + 2 * half_life_d] == pytest.approx(0.5)


def test_a_layer_on_part_of_the_bed_covers_no_more_than_that() -> None:
    days = cover(laid("straw", 3 * STRAW.covers_mm, cover=0.4), laid("straw", 100.0, cover=0.4))
    assert max(days) == 0.4


def test_a_second_layer_adds_to_what_is_left_of_the_first() -> None:
    half = GRASS.covers_mm / 2
    again = int(GRASS.half_life_d)
    days = cover(laid("grass-clippings", half), laid("grass-clippings", half, day=again))
    assert days[0] == pytest.approx(0.5)
    # A quarter left of the first, and a half anew.
    assert days[again] == pytest.approx(0.75)


def test_what_was_laid_before_the_first_day_has_worn_since() -> None:
    days = cover(laid("straw", STRAW.covers_mm, day=-int(STRAW.half_life_d)))
    assert days[0] == pytest.approx(0.5)


def test_other_beds_are_passed_over() -> None:
    other = laid("straw", 50.0).model_copy(update={"bed": "leeks"})
    assert cover(other) == [0.0] * 60


def test_straw_outlasts_clippings() -> None:
    assert cover(laid("straw", 50))[-1] > 2 * cover(laid("grass-clippings", 50))[-1]
