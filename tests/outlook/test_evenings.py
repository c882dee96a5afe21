"""Levels on past evenings, by probe and by hand."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest
from tests.gardens import level_probe, make_garden, note, put_readings

from steepwell.outlook.evenings import Evenings, read_evenings

if TYPE_CHECKING:
    from pathlib import Path

    from tests.gardens import Open

TWO_BUTTS = [
    {"name": "north", "litres": "200 L", "dead_volume": "20 L"},
    {"name": "south", "litres": "100 L"},
]
FIRST = date(2031, 6, 1)
NOW = datetime(2031, 6, 5, 6, 30, tzinfo=UTC)


def at(day: int, hour: float) -> datetime:
    return datetime(2031, 6, day, tzinfo=UTC) + timedelta(hours=hour)


def test_the_last_reading_of_an_evening_counts(tmp_path: Path, opened: Open) -> None:
    """The zone is an hour ahead, so that 22:30 UTC is 23:30 and 23:30 UTC the next day."""
    garden = make_garden(
        tmp_path, zone="Europe/London", butt=TWO_BUTTS[:1], sensor=[level_probe("north")]
    )
    store = opened(garden)
    readings = {at(1, 12): 150.0, at(1, 22.5): 140.0, at(1, 23.5): 90.0, at(3, 10): 80.0}
    put_readings(store, "north-level", readings)
    evenings = read_evenings(garden, store, FIRST, date(2031, 6, 30), NOW)
    # On the second nothing was heard in the evening, nor on the third after ten.
    np.testing.assert_array_equal(evenings.stored_l, [140.0, np.nan, np.nan, np.nan])
    np.testing.assert_array_equal(evenings.above_l, [120.0, np.nan, np.nan, np.nan])


def test_a_garden_without_butts_holds_nothing(tmp_path: Path, opened: Open) -> None:
    garden = make_garden(tmp_path, butt=[], vessel=[{"name": "leek", "volume": "60 L"}])
    evenings = read_evenings(garden, opened(garden), FIRST, date(2031, 6, 30), NOW)
    np.testing.assert_array_equal(evenings.stored_l, [0.0, 0.0, 0.0, 0.0])
    np.testing.assert_array_equal(evenings.above_l, [0.0, 0.0, 0.0, 0.0])


def test_a_level_read_by_hand_wins_its_day(tmp_path: Path, opened: Open) -> None:
    garden = make_garden(tmp_path, butt=TWO_BUTTS[:1], sensor=[level_probe("north")])
    store = opened(garden)
    put_readings(store, "north-level", {at(1, 23): 140.0, at(2, 23): 140.0})
    note(store, garden, at(2, 8), "level-read", butt="north", litres=15.0)
    evenings = read_evenings(garden, store, FIRST, date(2031, 6, 2), NOW)
    assert evenings.stored_l.tolist() == [140.0, 15.0]
    assert evenings.above_l.tolist() == [120.0, 0.0]  # 20 L are below the tap


def test_all_butts_must_be_read(tmp_path: Path, opened: Open) -> None:
    garden = make_garden(tmp_path, butt=TWO_BUTTS, sensor=[level_probe("north")])
    store = opened(garden)
    put_readings(store, "north-level", {at(1, 23): 140.0, at(2, 23): 130.0})
    note(store, garden, at(2, 20), "level-read", butt="south", litres=60.0)
    evenings = read_evenings(garden, store, FIRST, date(2031, 6, 2), NOW)
    np.testing.assert_array_equal(evenings.stored_l, [np.nan, 190.0])


def test_a_probe_too_near_the_water_is_taken_half_way_to_full(tmp_path: Path, opened: Open) -> None:
    # A box of 1 m2, 0.9 m high; the probe tells up to 0.7 m, 700 L, so 800 L are half way to 900.
    box = {"kind": "box", "length": "1 m", "width": "1 m", "height": "0.9 m"}
    probe = {
        **level_probe("north"),
        "reads": "distance from lid",
        "lid": "1 m",
        "blind": "30 cm",
        "unit": "m",
    }
    garden = make_garden(tmp_path, butt=[{"name": "north", "shape": box}], sensor=[probe])
    store = opened(garden)
    put_readings(store, "north-level", {at(1, 23): 700.0, at(2, 23): 690.0})
    evenings = read_evenings(garden, store, FIRST, date(2031, 6, 2), NOW)
    assert evenings.stored_l == pytest.approx([800.0, 690.0])


def test_days_outside_of_what_was_read_are_not_known() -> None:
    evenings = Evenings(FIRST, np.array([10.0, 20.0]), np.array([1.0, 2.0]))
    assert evenings.stored_on(date(2031, 6, 2)) == 20.0
    assert np.isnan(evenings.stored_on(date(2031, 6, 3)))
    assert np.isnan(evenings.stored_on(date(2031, 5, 31)))
    np.testing.assert_array_equal(
        evenings.above_from(date(2031, 5, 31), 4), [np.nan, 1.0, 2.0, np.nan]
    )
    np.testing.assert_array_equal(evenings.above_from(date(2031, 5, 1), 2), [np.nan, np.nan])
    np.testing.assert_array_equal(evenings.above_from(date(2031, 7, 1), 2), [np.nan, np.nan])
