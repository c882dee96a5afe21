"""The water in the butts now: read, carried on by rain and use, and never more than they hold."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from tests.gardens import GAUGE, flat_record, level_probe, make_garden, note, put_readings

from steepwell.outlook.now import state_now

if TYPE_CHECKING:
    from pathlib import Path

    from tests.gardens import Open

    from steepwell.garden.garden import Garden
    from steepwell.outlook.state import State
    from steepwell.store.store import Store

NOW = datetime(2031, 6, 10, 12, 0, tzinfo=UTC)
DAY = timedelta(days=1)
HOUR = timedelta(hours=1)
BAD = 4
RECORD = flat_record()

# Without losses 1 mm of rain is 10 L.
ROOF = {"name": "shed", "area": "10 m2", "into": "north", "runoff": 1.0, "wetting_loss": "0 mm"}
NORTH = {"name": "north", "litres": "200 L"}
SOUTH = {"name": "south", "litres": "100 L"}
VESSEL = {"name": "nettle", "volume": "60 L"}


def state(garden: Garden, store: Store, now: datetime = NOW) -> State:
    return state_now(garden, store, RECORD, now)


def litres(garden: Garden, store: Store, now: datetime = NOW) -> dict[str, float]:
    return {butt.name: butt.volume_l for butt in state(garden, store, now).butts}


def rain(store: Store, *fallen: tuple[datetime, float]) -> None:
    """Let it rain: millimetres at some moments, counted by a gauge that began a week before."""
    total, counted = 0.0, {NOW - 7 * DAY: 0.0}
    for at, fallen_mm in fallen:
        total += fallen_mm
        counted[at] = total
    put_readings(store, "gauge", counted)


def test_a_butt_never_read_counts_as_half_full(tmp_path: Path, opened: Open) -> None:
    garden = make_garden(tmp_path)
    butt = state(garden, opened(garden)).butts[0]
    assert (butt.volume_l, butt.read_at) == (100.0, None)


def test_the_probe_tells_what_is_there(tmp_path: Path, opened: Open) -> None:
    garden = make_garden(tmp_path, sensor=[level_probe("north")])
    store = opened(garden)
    put_readings(store, "north-level", {NOW - HOUR: 140.0, NOW - 2 * HOUR: 150.0})
    put_readings(store, "north-level", {NOW - HOUR / 2: 5.0}, flag=BAD)
    butt = state(garden, store).butts[0]
    assert (butt.volume_l, butt.read_at) == (140.0, NOW - HOUR)


@pytest.mark.parametrize(
    ("read_by_hand", "probe", "expected"),
    [
        # On its day the hand is believed, whichever came last.
        (NOW - 3 * HOUR, NOW - HOUR, 60.0),
        (NOW - HOUR, NOW - 3 * HOUR, 60.0),
        (NOW - HOUR, NOW - DAY, 60.0),
        (NOW - DAY, NOW - DAY + HOUR, 60.0),
        # From the next day on the probe is believed again.
        (NOW - DAY, NOW - HOUR, 140.0),
        (NOW.replace(hour=0) - HOUR, NOW.replace(hour=0), 140.0),
    ],
)
def test_a_reading_by_hand_beats_the_probe_on_its_day(
    tmp_path: Path, opened: Open, read_by_hand: datetime, probe: datetime, expected: float
) -> None:
    garden = make_garden(tmp_path, sensor=[level_probe("north")])
    store = opened(garden)
    put_readings(store, "north-level", {probe: 140.0})
    note(store, garden, read_by_hand, "level-read", butt="north", litres=60.0)
    assert litres(garden, store) == {"north": pytest.approx(expected)}


def test_the_last_of_several_readings_by_hand_holds(tmp_path: Path, opened: Open) -> None:
    garden = make_garden(tmp_path)
    store = opened(garden)
    note(store, garden, NOW - 2 * DAY, "level-read", butt="north", litres=60.0)
    note(store, garden, NOW - DAY, "level-read", butt="north", litres=50.0)
    assert litres(garden, store) == {"north": 50.0}


def test_a_butt_filled_can_by_can_holds_what_was_poured(tmp_path: Path, opened: Open) -> None:
    garden = make_garden(tmp_path)
    store = opened(garden)
    note(store, garden, NOW - DAY, "level-read", butt="north", litres=60.0)
    for hours, depth_mm, poured in ((3, 0.0, 9.0), (2, 50.0, 9.0), (1, 150.0, 18.0)):
        filled = {"butt": "north", "depth_mm": depth_mm, "litres": poured}
        note(store, garden, NOW - hours * HOUR, "filled-to", **filled)
    assert litres(garden, store) == {"north": 27.0}


def test_a_butt_that_was_emptied_fills_again_by_rain(tmp_path: Path, opened: Open) -> None:
    garden = make_garden(tmp_path, roof=[ROOF], sensor=[GAUGE])
    store = opened(garden)
    note(store, garden, NOW - 3 * DAY, "level-read", butt="north", litres=50.0)
    note(store, garden, NOW - 2 * DAY, "butt-emptied", butt="north")
    rain(store, (NOW - 4 * DAY, 9.0), (NOW - DAY, 2.0))
    assert litres(garden, store) == {"north": pytest.approx(20.0)}


def test_a_butt_without_a_probe_is_carried_on_by_rain(tmp_path: Path, opened: Open) -> None:
    garden = make_garden(tmp_path, roof=[ROOF], sensor=[GAUGE])
    store = opened(garden)
    note(store, garden, NOW - 3 * DAY, "level-read", butt="north", litres=50.0)
    rain(store, (NOW - 4 * DAY, 9.0), (NOW - 2 * DAY, 3.0), (NOW - DAY, 2.0), (NOW - HOUR, 1.0))
    # Rain before the reading is in it; 6 mm on 10 m² are 60 L, today's rain among them.
    assert litres(garden, store) == {"north": pytest.approx(50.0 + 60.0)}


def test_a_roof_keeps_what_wets_it_and_what_it_loses(tmp_path: Path, opened: Open) -> None:
    roof = {"name": "shed", "area": "20 m2", "into": "north", "share": "50 %", "runoff": 0.8}
    garden = make_garden(tmp_path, roof=[{**roof, "filter_efficiency": 0.9}], sensor=[GAUGE])
    store = opened(garden)
    note(store, garden, NOW - 2 * DAY, "level-read", butt="north", litres=50.0)
    rain(store, (NOW - DAY, 5.3))
    # (5.3 mm - 0.3 mm of wetting) x 20 m² x 50 % x 0.8 x 0.9 = 36 L.
    assert litres(garden, store) == {"north": pytest.approx(50.0 + 36.0)}


def test_a_butt_holds_no_more_than_its_capacity(tmp_path: Path, opened: Open) -> None:
    garden = make_garden(tmp_path, roof=[ROOF], sensor=[GAUGE])
    store = opened(garden)
    note(store, garden, NOW - 2 * DAY, "level-read", butt="north", litres=150.0)
    rain(store, (NOW - DAY, 30.0))
    assert litres(garden, store) == {"north": 200.0}


def test_what_was_used_since_the_reading_is_gone(tmp_path: Path, opened: Open) -> None:
    garden = make_garden(tmp_path, vessel=[VESSEL], sensor=[level_probe("north")])
    store = opened(garden)
    put_readings(store, "north-level", {NOW - 2 * DAY: 150.0})
    note(store, garden, NOW - 3 * DAY, "watered", bed="all", litres=40.0, butt="north")
    note(store, garden, NOW - DAY, "watered", bed="all", litres=18.0, butt="north")
    note(store, garden, NOW - HOUR, "watered", bed="all", litres=9.0)
    matter = [{"plant": "nettle"}]
    note(store, garden, NOW - HOUR, "steep-started", vessel="nettle", matter=matter, water_l=50.0)
    note(store, garden, NOW - HOUR, "tap-water-added", butt="north", litres=30.0)
    # The watering of three days ago came before the reading.
    assert litres(garden, store) == {"north": pytest.approx(150.0 - 18.0 - 9.0 - 50.0 + 30.0)}


def test_a_butt_is_never_emptier_than_empty(tmp_path: Path, opened: Open) -> None:
    garden = make_garden(tmp_path)
    store = opened(garden)
    note(store, garden, NOW - DAY, "level-read", butt="north", litres=20.0)
    note(store, garden, NOW - HOUR, "watered", bed="all", litres=45.0)
    assert litres(garden, store) == {"north": 0.0}


def test_water_from_no_butt_in_particular_comes_from_all(tmp_path: Path, opened: Open) -> None:
    garden = make_garden(tmp_path, butt=[NORTH, SOUTH])
    store = opened(garden)
    note(store, garden, NOW - DAY, "level-read", butt="north", litres=150.0)
    note(store, garden, NOW - DAY, "level-read", butt="south", litres=50.0)
    note(store, garden, NOW - HOUR, "watered", bed="all", litres=20.0)
    # By what is in them: three quarters and one quarter of 20 L.
    assert litres(garden, store) == {
        "north": pytest.approx(135.0),
        "south": pytest.approx(45.0),
    }


@pytest.mark.parametrize("order", [("south", "north"), ("north", "south")])
def test_a_full_butt_overflows_into_the_next(
    tmp_path: Path, opened: Open, order: tuple[str, str]
) -> None:
    butts = {"north": {**NORTH, "overflow_to": "south"}, "south": SOUTH}
    butt = [butts[name] for name in order]
    garden = make_garden(tmp_path, butt=butt, roof=[ROOF], sensor=[GAUGE])
    store = opened(garden)
    note(store, garden, NOW - 2 * DAY, "level-read", butt="north", litres=170.0)
    note(store, garden, NOW - 2 * DAY, "level-read", butt="south", litres=10.0)
    rain(store, (NOW - DAY, 7.0))
    # 70 L come: 30 fill the first, 40 pass into the second.
    expected = {"north": pytest.approx(200.0), "south": pytest.approx(50.0)}
    assert litres(garden, store) == expected


def test_a_chain_spills_to_the_ground_at_its_end(tmp_path: Path, opened: Open) -> None:
    butt = [
        {"name": "end", "litres": "50 L"},
        {**SOUTH, "overflow_to": "end"},
        {**NORTH, "overflow_to": "south"},
    ]
    garden = make_garden(tmp_path, butt=butt, roof=[ROOF], sensor=[GAUGE])
    store = opened(garden)
    for name in ("north", "south", "end"):
        note(store, garden, NOW - 2 * DAY, "level-read", butt=name, litres=0.0)
    rain(store, (NOW - DAY, 99.0))
    assert litres(garden, store) == {"end": 50.0, "south": 100.0, "north": 200.0}


def test_what_ran_over_before_a_reading_is_in_the_reading(tmp_path: Path, opened: Open) -> None:
    butt = [{**NORTH, "overflow_to": "south"}, SOUTH]
    garden = make_garden(tmp_path, butt=butt, roof=[ROOF], sensor=[GAUGE, level_probe("south")])
    store = opened(garden)
    note(store, garden, NOW - 3 * DAY, "level-read", butt="north", litres=190.0)
    rain(store, (NOW - 2 * DAY, 5.0))
    put_readings(store, "south-level", {NOW - HOUR: 40.0})
    assert litres(garden, store) == {"north": 200.0, "south": 40.0}


def test_nothing_later_than_now_is_looked_at(tmp_path: Path, opened: Open) -> None:
    butt = [{**NORTH, "overflow_to": "south"}, SOUTH]
    sensor = [GAUGE, level_probe("south")]
    garden = make_garden(tmp_path, butt=butt, roof=[ROOF], vessel=[VESSEL], sensor=sensor)
    store = opened(garden)
    note(store, garden, NOW - 3 * DAY, "level-read", butt="north", litres=50.0)
    note(store, garden, NOW - DAY, "watered", bed="all", litres=9.0)
    rain(store, (NOW - 2 * DAY, 3.0), (NOW - HOUR, 1.0))
    put_readings(store, "south-level", {NOW - HOUR: 40.0})
    past = state(garden, store)
    later = NOW + timedelta(minutes=1)
    put_readings(store, "gauge", {later: 20.0})
    put_readings(store, "south-level", {later: 80.0})
    note(store, garden, later, "watered", bed="all", litres=18.0)
    note(store, garden, later, "steep-started", vessel="nettle", matter=[{"plant": "nettle"}])
    note(store, garden, later + DAY, "corrected", withdraws=1)
    assert state(garden, store) == past
    assert state(garden, store, later + 2 * DAY) != past


def test_several_roofs_may_feed_one_butt(tmp_path: Path, opened: Open) -> None:
    porch = {**ROOF, "name": "porch", "area": "4 m2", "runoff": 0.5}
    garden = make_garden(tmp_path, roof=[ROOF, porch], sensor=[GAUGE])
    store = opened(garden)
    note(store, garden, NOW - 2 * DAY, "level-read", butt="north", litres=50.0)
    rain(store, (NOW - DAY, 5.0))
    # 5 mm x (10 + 4 x 0.5) m².
    assert litres(garden, store) == {"north": pytest.approx(50.0 + 60.0)}


def test_water_below_the_tap_cannot_be_drawn(tmp_path: Path, opened: Open) -> None:
    garden = make_garden(tmp_path, butt=[{**NORTH, "dead_volume": "12 L"}])
    store = opened(garden)
    note(store, garden, NOW - DAY, "level-read", butt="north", litres=50.0)
    note(store, garden, NOW - HOUR, "watered", bed="all", litres=45.0)
    assert litres(garden, store) == {"north": 12.0}


def test_rain_after_a_reading_by_hand_is_added_by_the_hour(tmp_path: Path, opened: Open) -> None:
    garden = make_garden(tmp_path, roof=[ROOF], sensor=[GAUGE])
    store = opened(garden)
    note(store, garden, NOW - 4 * HOUR, "level-read", butt="north", litres=50.0)
    rain(store, (NOW - 6 * HOUR, 2.0), (NOW - 2 * HOUR, 3.0))
    assert litres(garden, store) == {"north": pytest.approx(50.0 + 30.0)}


def test_rain_of_unknown_hours_fell_before_the_reading_of_its_day(
    tmp_path: Path, opened: Open
) -> None:
    garden = make_garden(tmp_path, roof=[ROOF])
    store = opened(garden)
    note(store, garden, NOW - DAY, "level-read", butt="north", litres=50.0)
    note(store, garden, NOW - DAY + HOUR, "rain-read", mm=3.0)
    note(store, garden, NOW - HOUR, "rain-read", mm=2.0)
    assert litres(garden, store) == {"north": pytest.approx(50.0 + 20.0)}


def test_a_gauge_read_by_hand_sets_the_sum_and_the_sensor_the_hours(
    tmp_path: Path, opened: Open
) -> None:
    garden = make_garden(tmp_path, roof=[ROOF], sensor=[GAUGE])
    store = opened(garden)
    rain(store, (NOW - 5 * HOUR, 1.0), (NOW - HOUR, 3.0))
    note(store, garden, NOW - 3 * HOUR, "level-read", butt="north", litres=50.0)
    note(store, garden, NOW, "rain-read", mm=8.0)
    # Of 8 mm read by hand three quarters fell after the level was read.
    assert litres(garden, store) == {"north": pytest.approx(50.0 + 60.0)}


@pytest.mark.parametrize(
    ("more", "expected"),
    [
        ({}, 110.0),
        # The first 10 L of a rain are led away; the second shower comes two hours later.
        ({"first_flush": "10 L"}, 100.0),
        ({"first_flush": "10 L", "first_flush_after": "1 h"}, 90.0),
        # 0.5 L a minute are 30 L an hour: 10 of 40 L shoot over.
        ({"flow_cap": "0.5 L/min"}, 100.0),
    ],
)
def test_a_diverter_takes_its_share_of_each_rain(
    tmp_path: Path, opened: Open, more: dict[str, object], expected: float
) -> None:
    garden = make_garden(tmp_path, roof=[{**ROOF, **more}], sensor=[GAUGE])
    store = opened(garden)
    note(store, garden, NOW - 2 * DAY, "level-read", butt="north", litres=50.0)
    rain(store, (NOW - DAY, 4.0), (NOW - DAY + 3 * HOUR, 2.0))
    assert litres(garden, store) == {"north": pytest.approx(expected)}


def test_feed_takes_cans_of_water_where_none_was_noted(tmp_path: Path, opened: Open) -> None:
    beds = [{"name": "beans", "area": "4 m2"}, {"name": "leeks", "area": "4 m2"}]
    garden = make_garden(tmp_path, vessel=[VESSEL], bed=beds)
    store = opened(garden)
    matter = [{"plant": "nettle"}]
    note(store, garden, NOW - 60 * DAY, "steep-started", vessel="nettle", matter=matter)
    note(store, garden, NOW - DAY, "level-read", butt="north", litres=150.0)
    fed = {"vessel": "nettle", "feed_ml": 30.0, "cans": 2.0}
    note(store, garden, NOW - HOUR, "fed", bed="beans", **fed)
    note(store, garden, NOW - HOUR, "watered", bed="leeks", litres=18.0)
    note(store, garden, NOW - HOUR, "fed", bed="leeks", **fed)
    # Two cans of 9 L on the beans; on the leeks the feed went into the water noted.
    assert litres(garden, store) == {"north": pytest.approx(150.0 - 18.0 - 18.0)}


@pytest.mark.parametrize(("order", "expected"), [((0, 1), 82.0), ((1, 0), 100.0)])
def test_what_is_noted_at_one_time_happened_in_the_order_of_the_notes(
    tmp_path: Path, opened: Open, order: tuple[int, int], expected: float
) -> None:
    garden = make_garden(tmp_path)
    store = opened(garden)
    notes: list[tuple[str, dict[str, object]]] = [
        ("level-read", {"butt": "north", "litres": 100.0}),
        ("watered", {"bed": "all", "litres": 18.0}),
    ]
    for kind, words in (notes[index] for index in order):
        note(store, garden, NOW - HOUR, kind, **words)
    assert litres(garden, store) == {"north": pytest.approx(expected)}


def test_a_garden_without_butts_has_no_water(tmp_path: Path, opened: Open) -> None:
    garden = make_garden(tmp_path, butt=[], vessel=[VESSEL])
    store = opened(garden)
    note(store, garden, NOW - HOUR, "watered", bed="all", litres=9.0)
    assert state(garden, store).butts == ()
