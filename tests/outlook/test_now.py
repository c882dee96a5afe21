"""The dryness of the beds now, by hand calculation."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest
from tests.gardens import AIR, GAUGE, flat_record, hourly, make_garden, note, put_readings

from steepwell.outlook.now import state_now

if TYPE_CHECKING:
    from pathlib import Path

    from tests.gardens import Open

    from steepwell.garden.garden import Garden
    from steepwell.outlook.record import Record
    from steepwell.outlook.state import State
    from steepwell.store.store import Store

# At 52° N, Ra is 41.6 MJ/m² on 15 June (FAO-56, Annex 2, Table 2.6, by eq. 21) and changes little.
# With 10 to 20 °C eq. 52, p. 64, gives 0.0023 x 0.408 x 41.6 x (15 + 17.8) x sqrt(10) = 4.05 mm/d,
# and mixed vegetables in mid-season lose 1.05 times that (as cabbage, Table 12, p. 110).
SITE = {"name": "plum-lane", "latitude": 52.0, "longitude": -0.9, "timezone": "UTC"}
ET0_MM = 0.0023 * 0.408 * 41.6 * (15.0 + 17.8) * 10.0**0.5
ETC_MM = 1.05 * ET0_MM
# Roots of 0.4 m, p = 0.35 (both from memory) in loam of 130 mm/m (Table 19, p. 144).
TAW_MM, RAW_MM = 52.0, 0.35 * 52.0

NOW = datetime(2031, 6, 15, 6, 30, tzinfo=UTC)
WET = datetime(2031, 6, 11, 6, 0, tzinfo=UTC)
DAY = timedelta(days=1)
RECORD = flat_record()


def state(garden: Garden, store: Store, *, dry: Record | None = None) -> State:
    return state_now(garden, store, dry or RECORD, NOW)


def one_bed(folder: Path, **more: object) -> Garden:
    bed = {"name": "all", "area": "10 m2", **more}
    return make_garden(folder, garden=SITE, bed=[bed], sensor=[GAUGE])


def soak(store: Store) -> None:
    """Let 80 mm fall four days ago, after which no bed that it reaches lacks anything."""
    put_readings(store, "gauge", {WET - DAY: 0.0, WET: 80.0, NOW - timedelta(hours=1): 80.0})


def test_four_days_after_a_soaking(tmp_path: Path, opened: Open) -> None:
    garden = one_bed(tmp_path)
    store = opened(garden)
    soak(store)
    now = state(garden, store)
    assert (now.now, now.today) == (NOW, date(2031, 6, 15))
    (bed,) = now.beds
    # The rain comes first, then the day's loss, of 11, 12, 13 and 14 June (Example 38, p. 172).
    assert bed.depletion_mm == pytest.approx(4 * ETC_MM, rel=0.01)
    assert [bed.taw_mm, bed.raw_mm] == pytest.approx([TAW_MM, RAW_MM])
    assert bed.crop == "mixed-vegetables"


def test_what_was_watered_is_there(tmp_path: Path, opened: Open) -> None:
    garden = one_bed(tmp_path)
    store = opened(garden)
    soak(store)
    note(store, garden, NOW - 2 * DAY, "watered", bed="all", litres=50.0)
    note(store, garden, NOW - timedelta(minutes=5), "watered", bed="all", litres=20.0)
    now = state(garden, store)
    # 50 L on 10 m² are 5 mm; what was given today counts today.
    assert now.beds[0].depletion_mm == pytest.approx(4 * ETC_MM - 5.0, rel=0.02)
    assert now.watered_today_mm == (2.0,)


def test_a_dry_soil_holds_its_water_back(tmp_path: Path, opened: Open) -> None:
    garden = one_bed(tmp_path)
    store = opened(garden)
    gauge = {WET - 5 * DAY: 0.0, WET - 4 * DAY: 80.0, NOW - timedelta(hours=1): 80.0}
    put_readings(store, "gauge", gauge)
    # Beyond RAW the loss falls in proportion to what is left: eq. 84, p. 169.
    expected = 0.0
    for _ in range(8):
        expected += ETC_MM * min((TAW_MM - expected) / (TAW_MM - RAW_MM), 1.0)
    assert RAW_MM < expected < 8 * ETC_MM - 2.0
    assert state(garden, store).beds[0].depletion_mm == pytest.approx(expected, rel=0.01)


@pytest.mark.parametrize("kind", ["greenhouse", "pot", "tray"])
def test_rain_does_not_reach_under_glass(tmp_path: Path, opened: Open, kind: str) -> None:
    garden = one_bed(tmp_path, kind=kind)
    store = opened(garden)
    soak(store)
    # After 200 days without water the root zone is at its wilting point.
    assert state(garden, store).beds[0].depletion_mm == pytest.approx(TAW_MM, rel=0.02)


def test_mulch_saves_what_the_soil_would_lose(tmp_path: Path, opened: Open) -> None:
    garden = one_bed(tmp_path, mulch={"cover": "100 %"})
    store = opened(garden)
    soak(store)
    # FAO-56, ch. 10, p. 196 to 198: half of Kc - Kcb, 1.05 - 0.95 in mid-season.
    expected = 4 * (1.05 - 0.05) * ET0_MM
    assert state(garden, store).beds[0].depletion_mm == pytest.approx(expected, rel=0.01)


def test_a_warm_day_by_the_probe_counts_more_than_the_usual(tmp_path: Path, opened: Open) -> None:
    garden = make_garden(tmp_path, garden=SITE, sensor=[GAUGE, AIR])
    store = opened(garden)
    soak(store)
    warm = hourly(datetime(2031, 6, 13, tzinfo=UTC), 24, 20.0)
    midday = datetime(2031, 6, 13, 14, 0, tzinfo=UTC)
    put_readings(store, "shade", {**warm, midday: 36.0, midday - DAY / 2: 20.0})
    # 20 to 36 °C: (28 + 17.8) x sqrt(16) in place of (15 + 17.8) x sqrt(10).
    warm_mm = ETC_MM * (28.0 + 17.8) * 4.0 / ((15.0 + 17.8) * 10.0**0.5)
    expected = 3 * ETC_MM + warm_mm
    found = state(garden, store).beds[0].depletion_mm
    assert found == pytest.approx(expected, rel=0.02)
    assert found > RAW_MM


def test_the_roots_of_a_young_crop_reach_little(tmp_path: Path, opened: Open) -> None:
    garden = one_bed(tmp_path, crops=[{"crop": "tomato", "planted": "06-15"}])
    store = opened(garden)
    soak(store)
    (bed,) = state(garden, store).beds
    # Roots of 0.2 m at planting (from memory) in loam of 130 mm/m; p = 0.4 (Table 22, p. 163).
    assert bed.crop == "tomato"
    assert [bed.taw_mm, bed.raw_mm] == pytest.approx([26.0, 0.4 * 26.0])
    # Open ground until yesterday: 0.7 in the first stage (Table 12, p. 110).
    assert bed.depletion_mm == pytest.approx(4 * 0.7 * ET0_MM, rel=0.01)


def test_beds_are_left_out_where_no_weather_is_known(tmp_path: Path, opened: Open) -> None:
    garden = one_bed(tmp_path)
    now = state_now(garden, opened(garden), None, NOW)
    assert now.beds == ()
    assert now.butts[0].volume_l == 100.0
    holes = flat_record()
    holes.tmin_c[:] = np.nan
    assert state(garden, opened(garden), dry=holes).beds == ()


def test_a_past_moment_gives_the_same_beds_again(tmp_path: Path, opened: Open) -> None:
    garden = make_garden(tmp_path, garden=SITE, sensor=[GAUGE, AIR])
    store = opened(garden)
    soak(store)
    put_readings(store, "shade", hourly(WET, 96, 18.0))
    past = state(garden, store)
    later = NOW + timedelta(minutes=1)
    put_readings(store, "gauge", {later: 120.0})
    put_readings(store, "shade", hourly(later, 48, 35.0))
    note(store, garden, later, "watered", bed="all", litres=90.0)
    note(store, garden, later, "cleared", bed="all")
    assert state(garden, store) == past
