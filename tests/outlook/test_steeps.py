"""The steeps now: their age by the probe or by the air, and what is left of them."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from tests.gardens import flat_record, hourly, make_garden, note, put_readings, vessel_probe

from steepwell.outlook.now import state_now

if TYPE_CHECKING:
    from pathlib import Path

    from tests.gardens import Open

    from steepwell.garden.garden import Garden
    from steepwell.outlook.record import Record
    from steepwell.outlook.state import SteepNow
    from steepwell.store.store import Store

NOW = datetime(2031, 6, 10, 15, 45, tzinfo=UTC)
HOUR = timedelta(hours=1)
DAY = timedelta(days=1)
MATTER = [{"plant": "nettle"}, {"plant": "comfrey"}]
# The reference temperature: a steep that is held at it is as old as the calendar says.
REFERENCE = flat_record(tmin_c=17.0, tmax_c=17.0)
# Lloyd and Taylor (1994), eq. 11: R/R10 of 4.25928 at 30 °C, 2.30320 at 20 °C, 1 at 10 °C, and
# exp(308.56 (1/56.02 - 1/63.02)) = 1.84378 at 17 °C.
RATE_30, RATE_20, RATE_10, RATE_17 = 4.25928, 2.30320, 1.0, 1.84378


def one_vessel(
    folder: Path, *, probe: bool = False, vessel: dict[str, object] | None = None
) -> Garden:
    declared = {"name": "nettle", "volume": "60 L", **(vessel or {})}
    sensor = [vessel_probe("nettle")] if probe else []
    return make_garden(folder, vessel=[declared], sensor=sensor)


def start(store: Store, garden: Garden, at: datetime, **more: object) -> None:
    note(store, garden, at, "steep-started", vessel="nettle", matter=MATTER, **more)


def steep(garden: Garden, store: Store, record: Record | None = REFERENCE) -> SteepNow:
    return state_now(garden, store, record, NOW).vessels[0]


def days(span: timedelta) -> float:
    return span / DAY


@pytest.mark.parametrize(
    "began",
    [
        NOW - 7 * DAY,
        NOW.replace(minute=0) - 9 * DAY,
        datetime(2031, 6, 3, 10, 20, tzinfo=UTC),
        NOW - timedelta(minutes=10),
        datetime(2031, 6, 10, 14, 55, tzinfo=UTC),
    ],
)
@pytest.mark.parametrize("probe", [True, False])
def test_at_the_reference_temperature_age_is_that_of_the_calendar(
    tmp_path: Path, opened: Open, began: datetime, *, probe: bool
) -> None:
    garden = one_vessel(tmp_path, probe=probe)
    store = opened(garden)
    start(store, garden, began)
    if probe:
        put_readings(store, "nettle-temperature", hourly(NOW - 10 * DAY, 240, 17.0))
    now = steep(garden, store)
    assert now.started == began
    assert now.thermal_age_d == pytest.approx(days(NOW - began), abs=1e-6)
    assert now.calendar_age_d(NOW) == pytest.approx(days(NOW - began))
    assert now.temperature_c == pytest.approx(17.0)
    assert now.plants == ("nettle", "comfrey")


@pytest.mark.parametrize(("celsius", "rate"), [(30.0, RATE_30), (20.0, RATE_20), (10.0, RATE_10)])
def test_a_warm_steep_ages_faster(
    tmp_path: Path, opened: Open, celsius: float, rate: float
) -> None:
    garden = one_vessel(tmp_path, probe=True)
    store = opened(garden)
    start(store, garden, NOW - 5 * DAY)
    put_readings(store, "nettle-temperature", hourly(NOW - 6 * DAY, 6 * 24, celsius))
    assert steep(garden, store).thermal_age_d == pytest.approx(5 * rate / RATE_17, rel=1e-4)


@pytest.mark.parametrize(("celsius", "rate"), [(0.0, 0.0), (-4.0, 0.0), (38.0, RATE_30)])
def test_frost_stops_a_steep_and_heat_hurries_it_no_more_than_30_degrees(
    tmp_path: Path, opened: Open, celsius: float, rate: float
) -> None:
    garden = one_vessel(tmp_path, probe=True)
    store = opened(garden)
    start(store, garden, NOW - 2 * DAY)
    put_readings(store, "nettle-temperature", hourly(NOW - 3 * DAY, 3 * 24, celsius))
    assert steep(garden, store).thermal_age_d == pytest.approx(2 * rate / RATE_17, rel=1e-4)


def test_only_the_part_of_the_first_hour_counts(tmp_path: Path, opened: Open) -> None:
    garden = one_vessel(tmp_path, probe=True)
    store = opened(garden)
    began = datetime(2031, 6, 10, 12, 20, tzinfo=UTC)
    start(store, garden, began)
    warm = {began + timedelta(minutes=10): 30.0}
    cool = hourly(datetime(2031, 6, 10, 13, 5, tzinfo=UTC), 3, 10.0)
    put_readings(store, "nettle-temperature", {**warm, **cool})
    # 40 minutes at 30 °C, and 13:00 to 15:45 at 10 °C.
    expected_h = (40 / 60) * RATE_30 / RATE_17 + 2.75 * RATE_10 / RATE_17
    assert steep(garden, store).thermal_age_d == pytest.approx(expected_h / 24, rel=1e-4)


def test_hours_without_the_probe_are_those_of_the_air(tmp_path: Path, opened: Open) -> None:
    garden = one_vessel(tmp_path, probe=True)
    store = opened(garden)
    start(store, garden, NOW.replace(minute=0) - 4 * DAY)
    # Heard on the first and the last day only; between them the air was at 17 °C.
    for begin in (NOW.replace(minute=0) - 4 * DAY, NOW.replace(minute=0) - DAY):
        put_readings(store, "nettle-temperature", hourly(begin, 24, 17.0))
    assert steep(garden, store).thermal_age_d == pytest.approx(4.0 + 0.75 / 24.0, rel=1e-4)


def test_a_vessel_cools_from_the_last_that_was_heard_of_it(tmp_path: Path, opened: Open) -> None:
    garden = one_vessel(tmp_path, probe=True)
    store = opened(garden)
    start(store, garden, NOW.replace(minute=0) - 4 * DAY)
    put_readings(store, "nettle-temperature", hourly(NOW.replace(minute=0) - 4 * DAY, 24, 30.0))
    # A bare vessel of 54 L loses all but 1/e of its warmth in about 8 h (conductance from memory):
    # within three days it is as warm as the air, and 13 K of warmth for 8 h have aged it by
    # (4.25928 / 1.84378 - 1) x 8 / 24 = 0.44 d at most, and by more than a third of that.
    older = steep(garden, store).thermal_age_d - RATE_30 / RATE_17 - days(3 * DAY) - 0.75 / 24.0
    assert 0.15 < older < 0.44
    assert steep(garden, store).temperature_c == pytest.approx(17.0, abs=0.01)


def test_without_a_probe_the_vessel_has_the_temperature_of_the_air(
    tmp_path: Path, opened: Open
) -> None:
    garden = one_vessel(tmp_path)
    store = opened(garden)
    start(store, garden, NOW - 20 * DAY)
    now = steep(garden, store, flat_record(tmin_c=10.0, tmax_c=10.0))
    assert now.temperature_c == pytest.approx(10.0)
    assert now.thermal_age_d == pytest.approx(20 * RATE_10 / RATE_17, rel=1e-4)


def test_one_probe_may_stand_for_several_vessels(tmp_path: Path, opened: Open) -> None:
    vessel = [{"name": name, "volume": "60 L"} for name in ("nettle", "leek")]
    sensor = [{**vessel_probe("nettle"), "of": ["nettle", "leek"]}]
    garden = make_garden(tmp_path, vessel=vessel, sensor=sensor)
    store = opened(garden)
    put_readings(store, "nettle-temperature", hourly(NOW - DAY, 24, 21.5))
    both = state_now(garden, store, REFERENCE, NOW).vessels
    assert [one.temperature_c for one in both] == [21.5, 21.5]


def test_a_temperature_read_by_hand_holds_on_its_day(tmp_path: Path, opened: Open) -> None:
    garden = one_vessel(tmp_path, probe=True)
    store = opened(garden)
    put_readings(store, "nettle-temperature", hourly(NOW - DAY, 24, 21.5))
    note(store, garden, NOW - DAY, "temperature-read", place="nettle", celsius=12.0)
    assert steep(garden, store).temperature_c == 21.5
    note(store, garden, NOW - HOUR, "temperature-read", place="nettle", celsius=19.0)
    note(store, garden, NOW - HOUR / 2, "temperature-read", place="air", celsius=25.0)
    assert steep(garden, store).temperature_c == 19.0


@pytest.mark.parametrize(
    ("vessel", "words", "filled_l"),
    [
        # A tenth stays free, where nothing else is said.
        ({}, {}, 54.0),
        ({"headspace": "15 L"}, {}, 45.0),
        ({}, {"water_l": 40.0}, 40.0),
    ],
)
def test_what_is_drawn_off_is_gone(
    tmp_path: Path,
    opened: Open,
    vessel: dict[str, object],
    words: dict[str, object],
    filled_l: float,
) -> None:
    garden = one_vessel(tmp_path, vessel=vessel)
    store = opened(garden)
    start(store, garden, NOW - 30 * DAY, **words)
    note(store, garden, NOW - 2 * DAY, "drawn-off", vessel="nettle", litres=2.5)
    note(store, garden, NOW - DAY, "drawn-off", vessel="nettle", litres=1.0)
    now = steep(garden, store)
    assert [now.liquid_l, now.drawn_l] == pytest.approx([filled_l - 3.5, 3.5])


def test_a_vessel_is_never_emptier_than_empty(tmp_path: Path, opened: Open) -> None:
    garden = one_vessel(tmp_path)
    store = opened(garden)
    start(store, garden, NOW - 30 * DAY, water_l=10.0)
    note(store, garden, NOW - 3 * DAY, "topped-up", vessel="nettle", litres=20.0)
    note(store, garden, NOW - 2 * DAY, "drawn-off", vessel="nettle", litres=12.0)
    assert steep(garden, store).liquid_l == pytest.approx(18.0)
    # The top-up was noted for the wrong vessel: what was drawn was all there was.
    note(store, garden, NOW - DAY, "corrected", withdraws=2)
    assert steep(garden, store).liquid_l == 0.0


def test_an_emptied_vessel_holds_nothing(tmp_path: Path, opened: Open) -> None:
    garden = one_vessel(tmp_path)
    store = opened(garden)
    start(store, garden, NOW - 30 * DAY)
    note(store, garden, NOW - DAY, "vessel-emptied", vessel="nettle")
    now = steep(garden, store)
    assert (now.started, now.thermal_age_d, now.liquid_l, now.plants) == (None, 0.0, 0.0, ())
    assert now.calendar_age_d(NOW) == 0.0
    assert now.temperature_c == pytest.approx(17.0)


def test_a_new_steep_forgets_the_old_one(tmp_path: Path, opened: Open) -> None:
    garden = one_vessel(tmp_path)
    store = opened(garden)
    start(store, garden, NOW - 60 * DAY)
    note(store, garden, NOW - 40 * DAY, "drawn-off", vessel="nettle", litres=5.0)
    note(store, garden, NOW - 3 * DAY, "vessel-emptied", vessel="nettle")
    start(store, garden, NOW - 2 * DAY)
    now = steep(garden, store)
    assert (now.liquid_l, now.drawn_l) == (54.0, 0.0)
    assert now.thermal_age_d == pytest.approx(2.0)


def test_a_past_moment_gives_the_same_steep_again(tmp_path: Path, opened: Open) -> None:
    garden = one_vessel(tmp_path, probe=True)
    store = opened(garden)
    start(store, garden, NOW - 5 * DAY)
    put_readings(store, "nettle-temperature", hourly(NOW - 6 * DAY, 6 * 24, 14.0))
    past = steep(garden, store)
    put_readings(store, "nettle-temperature", hourly(NOW + HOUR / 60, 24, 30.0))
    note(store, garden, NOW + HOUR, "drawn-off", vessel="nettle", litres=2.5)
    note(store, garden, NOW + 2 * HOUR, "vessel-emptied", vessel="nettle")
    assert steep(garden, store) == past
