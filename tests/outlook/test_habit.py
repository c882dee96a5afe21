"""How freely a gardener waters, learned from what was given."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest
from tests.gardens import flat_record, level_probe, make_garden, note, put_readings

from steepwell.outlook.habit import (
    asks_at_mm,
    asks_share,
    days_with_water,
    rounds_every_d,
    use_factor,
)
from steepwell.outlook.now import state_now

if TYPE_CHECKING:
    from pathlib import Path

    from tests.gardens import Open

FIRST = date(2031, 6, 1)
NOW = datetime(2031, 6, 8, 6, 30, tzinfo=UTC)
DAY = timedelta(days=1)


@pytest.mark.parametrize(
    ("days", "given_l", "drawn_l", "expected"),
    [
        # A gardener nobody knows gives what the crops draw, and that counts as a week:
        # (given + 7 d) / (drawn + 7 d).
        (0, 0.0, 40.0, 1.0),
        (7, 40.0, 40.0, 1.0),
        (42, 40.0, 40.0, 1.0),
        (7, 80.0, 40.0, (14 + 7) / (7 + 7)),
        (42, 80.0, 40.0, (84 + 7) / (42 + 7)),
        (21, 10.0, 40.0, (5.25 + 7) / (21 + 7)),
        # No more than six weeks back.
        (200, 80.0, 40.0, (84 + 7) / (42 + 7)),
        # Bounds: (1.05 + 7)/49 would be 0.16, and (420 + 7)/49 would be 8.7.
        (42, 1.0, 40.0, 0.2),
        (42, 400.0, 40.0, 3.0),
        # Who notes nothing is not known.
        (42, 0.0, 40.0, 1.0),
        # On days when no bed asks nothing is learned.
        (42, 40.0, 0.0, 1.0),
    ],
)
def test_what_is_given_of_what_is_drawn(
    days: int, given_l: float, drawn_l: float, expected: float
) -> None:
    always = np.ones(days, dtype=bool)
    factor = use_factor(np.full(days, given_l), np.full(days, drawn_l), always)
    assert factor == pytest.approx(expected)


def test_days_without_water_tell_nothing() -> None:
    given, drawn = np.full(20, 80.0), np.full(20, 40.0)
    had_water = np.arange(20) < 7
    given[~had_water] = 0.0
    assert use_factor(given, drawn, had_water) == pytest.approx((14 + 7) / (7 + 7))
    assert use_factor(given, drawn, np.zeros(20, dtype=bool)) == 1.0


@pytest.mark.parametrize(
    ("every_d", "expected"), [(1, 1), (2, 2), (4, 4), (7, 7), (10, 7), (1000, 1)]
)
def test_rounds_are_as_far_apart_as_they_were(every_d: int, expected: int) -> None:
    asked = np.ones((42, 2), dtype=bool)
    watered = np.tile(np.arange(1, 43)[:, None] % every_d == 0, 2)
    assert rounds_every_d(watered, asked, np.ones(42, dtype=bool)) == expected


@pytest.mark.parametrize(
    ("lacked", "expected"),
    [
        # A tenth of the way through the waterings, from the least dry on; fewer than five tell
        # nothing, and a bed that lacks more than RAW suffers.
        ([0.2] * 5, 0.2),
        ([0.1 * n for n in range(11)], 0.1),
        ([1.3] * 8, 1.0),
        ([0.2] * 4, 1.0),
        ([], 1.0),
    ],
)
def test_a_gardener_waters_as_soon_as_before(lacked: list[float], expected: float) -> None:
    share = np.zeros((42, 1))
    watered = np.zeros((42, 1), dtype=bool)
    share[: len(lacked), 0], watered[: len(lacked), 0] = lacked, True
    always, never = np.ones(42, dtype=bool), np.zeros(42, dtype=bool)
    assert asks_share(watered, share, always, every_d=2) == pytest.approx(expected)
    assert asks_share(watered, share, never, every_d=1) == 1.0
    # By the calendar.
    assert asks_share(watered, share, always, every_d=3) == 0.0


def test_beds_that_no_rain_reaches_ask_every_day() -> None:
    raw = np.array([[20.0, 20.0], [1.0, 1.0]])
    asks = asks_at_mm(0.5, raw, np.array([True, False]))
    assert asks.tolist() == [[10.0, 1.0], [1.0, 1.0]]


def test_rounds_are_counted_only_while_there_is_water_and_the_soil_asks() -> None:
    asked = np.zeros((42, 1), dtype=bool)
    asked[:20] = True
    had_water = np.arange(42) < 10
    watered = np.arange(42)[:, None] % 5 == 0
    # Ten days that count, two rounds among them.
    assert rounds_every_d(watered, asked, had_water) == 5


def test_days_on_which_all_butts_were_dry_are_known_by_their_probes(
    tmp_path: Path, opened: Open
) -> None:
    butt = [
        {"name": "north", "litres": "200 L", "dead_volume": "10 L"},
        {"name": "south", "litres": "200 L"},
    ]
    garden = make_garden(tmp_path, butt=butt, sensor=[level_probe("north"), level_probe("south")])
    store = opened(garden)
    # What each held at most on the days of June; dry is less than a can of 9 L above the taps.
    north = {1: 100.0, 2: 12.0, 3: 12.0, 4: 18.9, 5: 5.0, 6: 0.0}
    south = {1: 0.0, 2: 50.0, 3: 6.0, 4: 0.0, 6: 0.0}
    for name, held in (("north-level", north), ("south-level", south)):
        noon = {datetime(2031, 6, day, 12, tzinfo=UTC): litres for day, litres in held.items()}
        put_readings(store, name, noon)
        put_readings(store, name, {at + DAY / 4: 0.0 for at in noon})
    # On 5 June one butt was not read, and on 7 June none.
    had_water = days_with_water(garden, store, FIRST, NOW)
    assert had_water.tolist() == [True, True, False, False, True, False, True]


def test_without_probes_every_day_counts_as_one_with_water(tmp_path: Path, opened: Open) -> None:
    garden = make_garden(tmp_path)
    assert days_with_water(garden, opened(garden), FIRST, NOW).tolist() == [True] * 7


def test_a_gardener_is_known_by_the_waterings_noted(tmp_path: Path, opened: Open) -> None:
    garden = make_garden(tmp_path)
    store = opened(garden)
    record = flat_record()
    assert state_now(garden, store, record, NOW).use_factor == 1.0
    for days in range(1, 43):
        note(store, garden, NOW - days * DAY, "watered", bed="all", litres=300.0)
    assert state_now(garden, store, record, NOW).use_factor == pytest.approx(3.0)
