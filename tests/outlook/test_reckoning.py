"""How sure the water in the butts is: levels, rain and time, each by what it is worth."""

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
    from steepwell.outlook.state import ButtNow
    from steepwell.store.store import Store

NOW = datetime(2031, 6, 10, 12, 0, tzinfo=UTC)
DAY = timedelta(days=1)
HOUR = timedelta(hours=1)
RECORD = flat_record()

# Without losses 1 mm of rain is 10 L.
ROOF = {"name": "shed", "area": "10 m2", "into": "north", "runoff": 1.0, "wetting_loss": "0 mm"}
NORTH = {"name": "north", "litres": "200 L"}
SOUTH = {"name": "south", "litres": "100 L"}


def butts(garden: Garden, store: Store, now: datetime = NOW) -> tuple[ButtNow, ...]:
    return state_now(garden, store, RECORD, now).butts


def rained(store: Store, fallen_mm: float) -> None:
    """Let it rain an hour before noon, after a week of dry weather."""
    put_readings(store, "gauge", {NOW - 7 * DAY: 0.0, NOW - HOUR: fallen_mm})


@pytest.mark.parametrize("sensor", [[], [level_probe("north")]], ids=["none", "never heard"])
def test_nothing_is_known_of_a_butt_never_read(
    tmp_path: Path, opened: Open, sensor: list[dict[str, object]]
) -> None:
    garden = make_garden(tmp_path, roof=[ROOF], sensor=[GAUGE, *sensor])
    store = opened(garden)
    rained(store, 30.0)
    butt = butts(garden, store)[0]
    # An even distribution from empty to full: 200 / sqrt(12) = 58 L.
    assert butt.volume_l == 100.0
    assert butt.sd_l == pytest.approx(58.0, abs=0.5)


def test_a_fresh_probe_and_what_was_reckoned_are_weighed(tmp_path: Path, opened: Open) -> None:
    garden = make_garden(tmp_path, sensor=[level_probe("north")])
    store = opened(garden)
    note(store, garden, NOW - DAY, "level-read", butt="north", litres=100.0, rough=True)
    put_readings(store, "north-level", {NOW: 112.0})
    # Half full by eye is good to 6 % of 200 L, a day adds 2 %, a probe is good to 1.5 %:
    # 12² + 4² = 160 against 3² = 9.
    butt = butts(garden, store)[0]
    assert butt.volume_l == pytest.approx(100.0 + 12.0 * 160 / 169)
    assert butt.sd_l == pytest.approx((160 * 9 / 169) ** 0.5)


def test_a_stick_is_believed_whatever_was_reckoned(tmp_path: Path, opened: Open) -> None:
    garden = make_garden(tmp_path)
    store = opened(garden)
    note(store, garden, NOW - DAY, "level-read", butt="north", litres=100.0)
    note(store, garden, NOW, "level-read", butt="north", litres=94.0)
    butt = butts(garden, store)[0]
    assert butt.volume_l == 94.0
    assert butt.sd_l == pytest.approx(2.0)


def test_a_probe_that_falls_silent_makes_the_range_wider(tmp_path: Path, opened: Open) -> None:
    garden = make_garden(tmp_path, sensor=[level_probe("north")])
    store = opened(garden)
    put_readings(store, "north-level", {NOW: 120.0})
    # 1.5 % of 200 L when read, 2 % a day from then on: sqrt(9 + 16 d).
    for days, sd_l in ((0, 3.0), (1, 5.0), (10, 13.0), (100, 40.1)):
        butt = butts(garden, store, NOW + days * DAY)[0]
        assert butt.volume_l == 120.0
        assert butt.read_at == NOW
        assert butt.sd_l == pytest.approx(sd_l, abs=0.05)
    # Never less certain than one that was never read.
    assert butts(garden, store, NOW + 300 * DAY)[0].sd_l == pytest.approx(58.0)


def test_a_butt_that_surely_ran_over_is_surely_full(tmp_path: Path, opened: Open) -> None:
    butt = [{**NORTH, "overflow_to": "south"}, {**SOUTH, "litres": "900 L"}]
    garden = make_garden(tmp_path, butt=butt, roof=[ROOF], sensor=[GAUGE])
    store = opened(garden)
    note(store, garden, NOW - 2 * DAY, "level-read", butt="north", litres=50.0)
    note(store, garden, NOW - 2 * DAY, "level-read", butt="south", litres=100.0)
    rained(store, 40.0)
    north, south = butts(garden, store)
    # What nobody notes in an hour is all that is left open: 2 % of 200 L a day.
    assert north.volume_l == 200.0
    assert north.sd_l == pytest.approx(4.0 / 24**0.5, rel=0.01)
    # 400 L come, 250 run on; how far that is off is the second butt's to bear: 2² + 2 x 4² of the
    # first, (15 % of 400 L)² of the rain, 9² + 2 x 18² of the second.
    assert south.volume_l == pytest.approx(350.0)
    assert south.sd_l == pytest.approx((36 + 3600 + 729) ** 0.5, rel=1e-3)


DISTANCE = {
    "name": "north-level",
    "measures": "level",
    "of": "north",
    "reads": "distance from lid",
    "lid": "120 cm",
    "blind": "40 cm",
    "topic": "plum-lane/north",
    "payload": "number",
}


@pytest.mark.parametrize(
    ("before", "expected"),
    [
        # Reckoned above what the probe can still tell: it stays.
        (195.0, 195.0),
        # Reckoned a little below: there is that much, and hardly more.
        (155.0, 160.0),
        # Reckoned far below: that was wrong, and there may be anything above the bound.
        (100.0, 180.0),
    ],
)
def test_full_or_nearly_is_a_bound(
    tmp_path: Path, opened: Open, before: float, expected: float
) -> None:
    box = {"kind": "box", "length": "50 cm", "width": "40 cm", "height": "1 m"}
    garden = make_garden(tmp_path, butt=[{"name": "north", "shape": box}], sensor=[DISTANCE])
    store = opened(garden)
    note(store, garden, NOW - DAY, "level-read", butt="north", litres=before)
    # 80 of 100 cm is the highest it can tell: 160 L.
    put_readings(store, "north-level", {NOW: 160.0})
    butt = butts(garden, store)[0]
    assert butt.volume_l == pytest.approx(expected, abs=3.0)
    assert butt.volume_l >= before
    assert butt.read_at == NOW


def test_a_butt_first_heard_of_as_full_or_nearly_is_above_the_bound(
    tmp_path: Path, opened: Open
) -> None:
    box = {"kind": "box", "length": "50 cm", "width": "40 cm", "height": "1 m"}
    garden = make_garden(tmp_path, butt=[{"name": "north", "shape": box}], sensor=[DISTANCE])
    store = opened(garden)
    put_readings(store, "north-level", {NOW: 160.0})
    butt = butts(garden, store)[0]
    # Anything from 160 to 200 L is as likely: 40 / sqrt(12) = 11.5, and 3 L for the bound itself.
    assert butt.volume_l == pytest.approx(180.0)
    assert butt.sd_l == pytest.approx(11.7, abs=0.8)


def test_rain_nobody_measured_makes_the_range_wider(tmp_path: Path, opened: Open) -> None:
    record = flat_record(rain_mm=1.0)
    garden = make_garden(tmp_path, butt=[{**NORTH, "litres": "1000 L"}], roof=[ROOF])
    store = opened(garden)
    note(store, garden, NOW - 4 * DAY, "level-read", butt="north", litres=500.0)
    butt = state_now(garden, store, record, NOW).butts[0]
    # The usual 1 mm on each of three days, give or take twice that: 10² + 4 x 20² + 3 x (2 x 10)².
    assert butt.volume_l == pytest.approx(530.0)
    assert butt.sd_l == pytest.approx((100 + 1600 + 1200) ** 0.5)
