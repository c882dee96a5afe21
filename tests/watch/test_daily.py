"""What is looked for once a day: overflow, steeps, batteries, warm water, chores."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest
from tests.gardens import AIR, GAUGE, flat_record, hourly, make_garden, put_readings, state_of

from steepwell.outlook.outlook import make_outlook
from steepwell.outlook.state import SteepNow
from steepwell.store.devices import Device
from steepwell.store.store import garden_store_url, open_store
from steepwell.watch.battery import low_batteries
from steepwell.watch.daily import season_now
from steepwell.watch.overflow import overflow_ahead
from steepwell.watch.season import Season, chores, warm_water
from steepwell.watch.steeps import next_rungs, steeps_ended, top_ups_due

if TYPE_CHECKING:
    from pathlib import Path

    from steepwell.garden.garden import Garden

NOW = datetime(2031, 6, 1, 5, 30, tzinfo=UTC)
ROOF = {"name": "shed", "area": "20 m2", "into": "north"}
GARDEN = make_garden(vessel=[{"name": "leek", "volume": "60 L"}], sensor=[GAUGE, AIR], roof=[ROOF])
SOUTH = make_garden(
    roof=[ROOF],
    sensor=[GAUGE],
    garden={"name": "south", "latitude": -41.3, "longitude": 174.8, "timezone": "UTC"},
)
FILL: dict[str, Any] = {
    "name": "leek",
    "do": "fill",
    "rainwater_l": 54,
    "matter": "2 buckets of nettle",
    "by": None,
    "reason": "empty",
}


@pytest.mark.parametrize(
    ("litres", "stands", "found"),
    [(189.0, False, False), (190.0, False, True), (171.0, True, True), (169.0, True, False)],
)
def test_without_a_forecast_full_butts_are_told(
    litres: float, *, stands: bool, found: bool
) -> None:
    state = state_of(GARDEN, NOW, litres=[litres])
    told = overflow_ahead(GARDEN, state, None, [FILL], forecast=False, stands=stands)
    assert (told is not None) == found
    if told is not None:
        assert told.kind == "butts-full"
        assert "leek (54 L)" in told.text
        assert "2 buckets of nettle" in told.text


def test_water_is_not_told_to_be_lost_where_nothing_can_take_it() -> None:
    state = state_of(GARDEN, NOW)
    assert overflow_ahead(GARDEN, state, None, [], forecast=False, stands=False) is None
    shut = {**FILL, "do": "keep shut", "rainwater_l": 0}
    assert overflow_ahead(GARDEN, state, None, [shut], forecast=False, stands=False) is None


@pytest.mark.parametrize(("rain_mm", "found"), [(0.0, False), (10.0, True)])
def test_with_a_forecast_the_spill_is_told_before_it_comes(rain_mm: float, *, found: bool) -> None:
    # 10 mm a day on 20 m2 bring 165 L a day, and there is room for 20 L.
    state = state_of(GARDEN, NOW, litres=[180.0], steeps=[empty()])
    record = flat_record(rain_mm=rain_mm)
    outlook = make_outlook(GARDEN, state, record, [], seed=0, days=10, members=20)
    told = overflow_ahead(GARDEN, state, outlook, [FILL], forecast=True, stands=False)
    assert (told is not None) == found
    if told is not None:
        assert (told.kind, told.certainty, told.urgency) == ("overflow-ahead", "Likely", "Future")
        assert "By 3 June" in told.text


def empty() -> SteepNow:
    return SteepNow("leek", 17.0, None, 0.0, 0.0, 0.0, ())


def steep(age_d: float, *, liquid_l: float = 54.0, ended: bool = False) -> SteepNow:
    began = NOW - timedelta(days=age_d)
    return SteepNow("leek", 17.0, began, age_d, liquid_l, 1.0, ("leek",), 4.0, ended=ended)


@pytest.mark.parametrize(
    ("age_d", "following"),
    [
        # D(θ) = 30 (1 - e^(-kθ)) / (1 - e^(-14k)), k = 0.001: it passes 60 at 28.2 d, 100 at
        # 47.5 d, 150 at 72.1 d.
        (15.0, None),
        (25.0, 100),
        (35.0, None),
        (42.0, 150),
    ],
)
def test_a_label_that_will_change_within_a_week_is_told(
    age_d: float, following: int | None
) -> None:
    state = state_of(GARDEN, NOW, steeps=[steep(age_d)])
    # 17 °C throughout, so that age and days go together.
    record = flat_record(tmin_c=17.0, tmax_c=17.0)
    outlook = make_outlook(GARDEN, state, record, [], seed=0, days=10, members=20)
    found = next_rungs(GARDEN, state, outlook, ())
    assert [finding.figures["next_parts"] for finding in found] == (
        [following] if following else []
    )


def test_a_steep_at_its_end_is_told_until_it_is_emptied() -> None:
    assert steeps_ended(state_of(GARDEN, NOW, steeps=[steep(300.0)])) == []
    (finding,) = steeps_ended(state_of(GARDEN, NOW, steeps=[steep(300.0, ended=True)]))
    assert finding.id == "steep-ended/leek"
    assert "never to a drain" in finding.text
    assert steeps_ended(state_of(GARDEN, NOW, steeps=[empty()])) == []


@pytest.mark.parametrize(
    ("liquid_l", "planned", "stands", "found"),
    [
        (45.0, True, False, True),
        (45.0, False, False, False),
        # Told once, it stands until a twentieth is missing.
        (50.0, False, True, True),
        (51.5, False, True, False),
    ],
)
def test_a_top_up_stands_until_the_vessel_is_nearly_full(
    liquid_l: float, *, planned: bool, stands: bool, found: bool
) -> None:
    state = state_of(GARDEN, NOW, steeps=[steep(100.0, liquid_l=liquid_l)])
    lines = [{**FILL, "do": "top up"}] if planned else []
    told = top_ups_due(GARDEN, state, lines, {"leek"} if stands else ())
    assert [finding.kind for finding in told] == (["top-up-due"] if found else [])


@pytest.mark.parametrize(
    ("battery", "best", "stands", "found"),
    [
        # Percent, a share of full, volts of one cell and of two, millivolts.
        (20.0, 100.0, False, False),
        (19.0, 100.0, False, True),
        (29.0, 100.0, True, True),
        (30.0, 100.0, True, False),
        (0.15, 1.0, False, True),
        (3.3, 4.2, False, True),
        (3.5, 4.2, False, False),
        (3.5, 4.2, True, True),
        (2.3, 3.0, False, True),
        (3300.0, 4150.0, False, True),
        (0.0, 0.0, False, False),
    ],
)
def test_a_battery_is_low_by_what_it_was(
    battery: float, best: float, *, stands: bool, found: bool
) -> None:
    device = Device(0, battery, None, best)
    told = low_batteries(GARDEN, {"gauge": device}, {"gauge"} if stands else ())
    assert [finding.subject for finding in told] == (["gauge"] if found else [])


def test_a_device_that_says_nothing_of_its_battery_has_none_that_is_low() -> None:
    assert low_batteries(GARDEN, {"gauge": Device(0, None, 3.0)}, ()) == []


def test_warm_water_is_told_once_a_season() -> None:
    told, stands = [], False
    for water_c in (15.0, 19.9, 20.0, 14.0, 23.0, 12.1, 11.9, 14.0):
        found = warm_water(GARDEN, Season(date(2031, 7, 1), 15.0, water_c), stands=stands)
        told.append(found is not None and not stands)
        stands = found is not None
    assert told == [False, False, True, False, False, False, False, False]


def due(garden: Garden, day: date, mean_c: float | None) -> set[str]:
    season = Season(day, mean_c, None)
    return {finding.subject for finding in chores(garden, season, (), rests=False)}


@pytest.mark.parametrize(
    ("day", "mean_c", "wanted"),
    [
        (date(2031, 6, 20), 17.0, set()),
        (date(2031, 10, 25), 12.0, set()),
        (date(2031, 10, 25), 8.0, {"taps"}),
        # The leaves of a mild autumn hang on.
        (date(2031, 11, 20), 11.0, set()),
        (date(2031, 11, 20), 6.0, {"taps", "gutters"}),
        (date(2031, 11, 20), None, {"taps", "gutters"}),
        (date(2032, 1, 15), 2.0, set()),
        (date(2032, 2, 27), 1.0, set()),
        (date(2032, 3, 12), 6.0, {"butts", "gauge"}),
        (date(2032, 5, 1), 12.0, set()),
    ],
)
def test_chores_come_by_light_and_warmth(day: date, mean_c: float | None, wanted: set[str]) -> None:
    assert due(GARDEN, day, mean_c) == wanted


def test_chores_of_the_south_come_half_a_year_later() -> None:
    assert due(SOUTH, date(2031, 6, 1), 8.0) == {"taps", "gutters"}
    assert due(SOUTH, date(2031, 9, 10), 9.0) == {"butts", "gauge"}
    assert due(SOUTH, date(2031, 11, 20), 8.0) == set()


def test_a_chore_that_was_told_stands_while_it_turns_warm_again() -> None:
    mild = Season(date(2031, 11, 20), 12.0, None)
    told = chores(GARDEN, mild, {"gutters"}, rests=False)
    assert [finding.subject for finding in told] == ["gutters"]
    longer = Season(date(2032, 1, 5), 3.0, None)
    assert chores(GARDEN, longer, {"gutters", "taps"}, rests=False) == []


def test_where_in_the_year_a_garden_is(tmp_path: Path) -> None:
    garden = make_garden(tmp_path, sensor=[AIR])
    state = state_of(garden, NOW)
    with open_store(garden_store_url(garden), garden) as store:
        usual = season_now(garden, store, flat_record(tmin_c=8.0, tmax_c=16.0), state)
        assert (usual.mean_c, usual.water_c) == (12.0, None)
        assert season_now(garden, store, None, state).mean_c is None
        put_readings(store, "shade", hourly(NOW - timedelta(days=14), 14 * 24, 21.0))
        heard = season_now(garden, store, None, state)
    assert heard.mean_c == pytest.approx(21.0)
    assert heard.water_c == pytest.approx(21.0)
