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
# With 10 to 20 °C eq. 52, p. 64, gives 0.0023 x 0.408 x 41.6 x (15 + 17.8) x sqrt(10) = 4.05 mm/d.
SITE = {"name": "plum-lane", "latitude": 52.0, "longitude": -0.9, "timezone": "UTC"}
ET0_MM = 0.0023 * 0.408 * 41.6 * (15.0 + 17.8) * 10.0**0.5
# Mixed vegetables in mid-season, as cabbage: Kcb 0.95 (Table 17, p. 137), Kc 1.05 (Table 12,
# p. 110). Roots of 0.4 m, p = 0.35 and height of 0.4 m (all from memory) in loam of 130 mm/m, whose
# surface of 0.1 m evaporates 9 mm readily and 1000 (0.25 - 0.5 x 0.12) 0.1 = 19 mm in all
# (Table 19, p. 144; eq. 73). Cover by eq. 76, p. 149, with Kc max 1.2 (eq. 72).
KCB, KC, KC_MAX = 0.95, 1.05, 1.2
TAW_MM, P = 52.0, 0.35
TEW_MM, REW_MM = 19.0, 9.0
OPEN = 1.0 - ((KCB - 0.15) / (KC_MAX - 0.15)) ** (1.0 + 0.5 * 0.4)

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


def note_from_last_year_on(store: Store, garden: Garden) -> None:
    """Let waterings be noted since long ago, so that none is missing."""
    note(store, garden, NOW - 365 * DAY, "watered", bed="all", litres=10.0)


def dried(*et0_mm: float, watered_mm: tuple[float, ...] = (), cover: float = 0.0) -> float:
    """Return what a full-grown bed lacks after days without rain, from field capacity on.

    FAO-56, eq. 71, 74, 77, 83, 84 and 86; the water of a day comes before its losses (Example 38,
    p. 172), mulch takes 5 % off evaporation for each 10 % it covers (ch. 10, p. 198).
    """
    surface = lacks = 0.0
    for day, et0 in enumerate(et0_mm):
        water = watered_mm[day] if day < len(watered_mm) else 0.0
        surface, lacks = max(surface - water, 0.0), max(lacks - water, 0.0)
        kr = min((TEW_MM - surface) / (TEW_MM - REW_MM), 1.0)
        ke = min(kr * (KC_MAX - KCB), OPEN * KC_MAX) * (1.0 - 0.5 * cover)
        raw = (P + 0.04 * (5.0 - KC * et0)) * TAW_MM
        ks = min((TAW_MM - lacks) / (TAW_MM - raw), 1.0)
        surface += ke * et0 / OPEN
        lacks += (ks * KCB + ke) * et0
    return lacks


def test_four_days_after_a_soaking(tmp_path: Path, opened: Open) -> None:
    garden = one_bed(tmp_path)
    store = opened(garden)
    soak(store)
    now = state(garden, store)
    assert (now.now, now.today) == (NOW, date(2031, 6, 15))
    (bed,) = now.beds
    # The rain comes first, then the loss of 11, 12, 13 and 14 June.
    assert bed.depletion_mm == pytest.approx(dried(*[ET0_MM] * 4), rel=0.01)
    assert [bed.taw_mm, bed.raw_mm] == pytest.approx([TAW_MM, P * TAW_MM])
    assert bed.crop == "mixed-vegetables"


def test_water_given_in_the_evening_is_there_the_next_day(tmp_path: Path, opened: Open) -> None:
    garden = one_bed(tmp_path)
    store = opened(garden)
    soak(store)
    evening = datetime(2031, 6, 12, 19, 0, tzinfo=UTC)
    note(store, garden, evening, "watered", bed="all", litres=50.0)
    note(store, garden, evening + 2 * DAY, "watered", bed="all", litres=30.0)
    note(store, garden, NOW - timedelta(minutes=5), "watered", bed="all", litres=20.0)
    now = state(garden, store)
    # 50 L on 10 m² are 5 mm, which 13 June draws on.
    expected = dried(*[ET0_MM] * 4, watered_mm=(0.0, 0.0, 5.0))
    assert now.beds[0].depletion_mm == pytest.approx(expected, rel=0.01)
    # Last evening and this morning.
    assert now.watered_today_mm == (5.0,)
    assert now.watered_tonight_mm == (0.0,)
    assert (now.beds[0].watered_d_ago, now.beds[0].owed_mm) == (1, 0.0)


def test_what_was_drawn_since_the_last_round_is_owed(tmp_path: Path, opened: Open) -> None:
    garden = one_bed(tmp_path)
    store = opened(garden)
    gauge = {WET - 5 * DAY: 0.0, WET - 4 * DAY: 80.0, NOW - timedelta(hours=1): 80.0}
    put_readings(store, "gauge", gauge)
    # 5 mm on the evenings of 5 May to 11 June, which the next days draw on, and none since. By the
    # rain of 7 June the bed was far too dry.
    for days in range(38):
        evening = datetime(2031, 6, 11, 19, 0, tzinfo=UTC) - days * DAY
        note(store, garden, evening, "watered", bed="all", litres=50.0)
    water = (0.0, *[5.0] * 5, 0.0, 0.0)
    lacked = [dried(*[ET0_MM] * days, watered_mm=water) for days in range(1, 9)]
    now = state(garden, store)
    # A tenth of the way through 38 waterings, 3.7 from the least dry on, by the RAW of a day of
    # 4.25 mm.
    *_, dry, driest = sorted(lacked[:5])
    raw = (P + 0.04 * (5.0 - KC * ET0_MM)) * TAW_MM
    expected = (dry + 0.7 * (driest - dry)) / raw
    assert now.asks_share == pytest.approx(expected, rel=0.02)
    (bed,) = now.beds
    assert bed.watered_d_ago == 4
    # What 12 to 14 June drew; the water of the evening before made up for all that was lacking.
    assert lacked[4] < 5.0
    assert bed.owed_mm == pytest.approx(lacked[7], rel=0.01)


def test_a_bed_that_lacks_little_owes_nothing(tmp_path: Path, opened: Open) -> None:
    garden = one_bed(tmp_path)
    store = opened(garden)
    soak(store)
    now = state(garden, store)
    # Of a gardener nobody knows it is taken that he waits until RAW is used up (FAO-56, p. 171).
    assert now.asks_share == 1.0
    assert now.beds[0].depletion_mm < (P + 0.04 * (5.0 - KC * ET0_MM)) * TAW_MM
    assert now.beds[0].owed_mm == 0.0


def test_a_dry_soil_holds_its_water_back(tmp_path: Path, opened: Open) -> None:
    garden = one_bed(tmp_path)
    store = opened(garden)
    gauge = {WET - 5 * DAY: 0.0, WET - 4 * DAY: 80.0, NOW - timedelta(hours=1): 80.0}
    put_readings(store, "gauge", gauge)
    note_from_last_year_on(store, garden)
    expected = dried(*[ET0_MM] * 8)
    assert expected > P * TAW_MM
    assert state(garden, store).beds[0].depletion_mm == pytest.approx(expected, rel=0.01)


@pytest.mark.parametrize("kind", ["greenhouse", "pot", "tray"])
def test_rain_does_not_reach_under_glass(tmp_path: Path, opened: Open, kind: str) -> None:
    garden = one_bed(tmp_path, kind=kind)
    store = opened(garden)
    soak(store)
    note_from_last_year_on(store, garden)
    # After 200 days without water the root zone is at its wilting point.
    assert state(garden, store).beds[0].depletion_mm == pytest.approx(TAW_MM, rel=0.02)


@pytest.mark.parametrize("kind", ["ground", "greenhouse", "pot"])
def test_before_waterings_are_known_nothing_was_left_to_wilt(
    tmp_path: Path, opened: Open, kind: str
) -> None:
    garden = one_bed(tmp_path, kind=kind)
    store = opened(garden)
    put_readings(store, "gauge", {WET - 5 * DAY: 0.0, NOW - timedelta(hours=1): 0.0})
    # Irrigate before or at the moment when RAW is used up (FAO-56, ch. 8, p. 171).
    raw_mm = (P + 0.04 * (5.0 - KC * ET0_MM)) * TAW_MM
    lacks = state(garden, store).beds[0].depletion_mm
    assert lacks == pytest.approx(raw_mm, rel=0.01)
    # Since 13 June they are noted, so that none was given on that day and the next.
    note(store, garden, datetime(2031, 6, 13, 7, 0, tzinfo=UTC), "watered", bed="all", litres=1.0)
    assert state(garden, store).beds[0].depletion_mm > lacks + 2.0


def test_mulch_saves_what_the_soil_would_lose(tmp_path: Path, opened: Open) -> None:
    garden = one_bed(tmp_path, mulch={"cover": "100 %"})
    store = opened(garden)
    soak(store)
    expected = dried(*[ET0_MM] * 4, cover=1.0)
    assert expected < dried(*[ET0_MM] * 4) - 1.0
    assert state(garden, store).beds[0].depletion_mm == pytest.approx(expected, rel=0.01)


def test_a_warm_day_by_the_probe_counts_more_than_the_usual(tmp_path: Path, opened: Open) -> None:
    garden = make_garden(tmp_path, garden=SITE, sensor=[GAUGE, AIR])
    store = opened(garden)
    soak(store)
    note_from_last_year_on(store, garden)
    warm = hourly(datetime(2031, 6, 13, tzinfo=UTC), 24, 20.0)
    midday = datetime(2031, 6, 13, 14, 0, tzinfo=UTC)
    put_readings(store, "shade", {**warm, midday: 36.0, midday - DAY / 2: 20.0})
    # 20 to 36 °C: (28 + 17.8) x sqrt(16) in place of (15 + 17.8) x sqrt(10).
    warm_mm = ET0_MM * (28.0 + 17.8) * 4.0 / ((15.0 + 17.8) * 10.0**0.5)
    expected = dried(ET0_MM, ET0_MM, warm_mm, ET0_MM)
    assert state(garden, store).beds[0].depletion_mm == pytest.approx(expected, rel=0.02)


def test_the_roots_of_a_young_crop_reach_little(tmp_path: Path, opened: Open) -> None:
    garden = one_bed(tmp_path, crops=[{"crop": "tomato", "planted": "06-15"}])
    store = opened(garden)
    soak(store)
    (bed,) = state(garden, store).beds
    # Roots of 0.2 m at planting (from memory) in loam of 130 mm/m; p = 0.4 (Table 22, p. 163).
    assert bed.crop == "tomato"
    assert [bed.taw_mm, bed.raw_mm] == pytest.approx([26.0, 0.4 * 26.0])
    # Open ground until yesterday: Kcb 0.15 (Table 17, p. 137), and the surface as bare loam loses
    # it after rain: 1.05 ET0 while it holds 10 of its 19 mm, then less (Example 31, p. 146).
    surface, lacks = 0.0, 0.0
    for _ in range(4):
        ke = min((TEW_MM - surface) / (TEW_MM - REW_MM), 1.0) * (KC_MAX - 0.15)
        raw = (P + 0.04 * (5.0 - 0.7 * ET0_MM)) * 26.0
        ks = min((26.0 - lacks) / (26.0 - raw), 1.0)
        surface += ke * ET0_MM
        lacks += (ke + 0.15 * ks) * ET0_MM
    assert [bed.depletion_mm, bed.surface_mm] == pytest.approx([lacks, surface], rel=0.01)


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
