"""A fast fall of a butt is a watering nobody noted, and nothing else is."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest
from tests.gardens import (
    GAUGE,
    flat_record,
    hourly,
    level_probe,
    make_garden,
    note,
    put_readings,
)
from tests.lived import live

from steepwell.outlook.falling import guessed_waterings
from steepwell.outlook.now import state_now
from steepwell_sim.weather.invent import invent_years

if TYPE_CHECKING:
    from pathlib import Path

    from tests.gardens import Open

    from steepwell.garden.garden import Garden
    from steepwell.store.entries import Watered
    from steepwell.store.store import Store

NOW = datetime(2031, 6, 10, 5, 30, tzinfo=UTC)
MIDNIGHT = datetime(2031, 6, 9, tzinfo=UTC)
EVENING = MIDNIGHT + timedelta(hours=19)
DAY = timedelta(days=1)
HOUR = timedelta(hours=1)

NORTH = {"name": "north", "litres": "200 L"}
SOUTH = {"name": "south", "litres": "300 L"}
BEDS = [
    {"name": "beans", "area": "6 m2", "butt": "north"},
    {"name": "leeks", "area": "3 m2", "butt": "north"},
    {"name": "peas", "area": "5 m2", "butt": "south"},
]
SENSORS = [level_probe("north"), level_probe("south")]


def garden_of(folder: Path, **sections: object) -> Garden:
    more: dict[str, Any] = {"butt": [NORTH, SOUTH], "bed": BEDS, "sensor": SENSORS, **sections}
    return make_garden(folder, **more)


def levels(store: Store, *fallen: tuple[datetime, float], start_l: float = 150.0) -> None:
    """Let the first butt be read every hour for two days, and fall at some of the hours."""
    read = hourly(MIDNIGHT - DAY, 54, start_l)
    for at, litres in fallen:
        read = {moment: level - litres * (moment >= at) for moment, level in read.items()}
    put_readings(store, "north-level", read)


def guesses(garden: Garden, store: Store, now: datetime = NOW) -> list[Watered]:
    return guessed_waterings(garden, store, store.journal.entries(now), now)


def given(garden: Garden, store: Store, now: datetime = NOW) -> dict[str, float]:
    return {guess.bed: round(guess.litres, 6) for guess in guesses(garden, store, now)}


def water_line(bed: str, litres: float, days: list[str], butt: str | None) -> dict[str, Any]:
    return {"bed": bed, "litres": litres, "days": days, "from": butt, "daily_l": None}


def test_a_fast_fall_is_a_watering_of_the_beds_by_the_butt(tmp_path: Path, opened: Open) -> None:
    garden = garden_of(tmp_path)
    store = opened(garden)
    levels(store, (EVENING, 18.0), (EVENING + HOUR, 9.0))
    found = guesses(garden, store)
    # 27 L on the two beds this butt serves, by area.
    assert given(garden, store) == {"beans": 18.0, "leeks": 9.0}
    assert {(guess.by, guess.butt, guess.at) for guess in found} == {
        ("guess", "north", EVENING + HOUR)
    }


@pytest.mark.parametrize(
    ("lines", "expected"),
    [
        # By what the plan gave each on the day, from this butt.
        (
            [
                water_line("beans", 10.0, ["2031-06-09"], "north"),
                water_line("leeks", 40.0, ["2031-06-08", "2031-06-09"], "north"),
                water_line("peas", 30.0, ["2031-06-09"], "south"),
            ],
            {"beans": 9.0, "leeks": 18.0},
        ),
        # Nothing from this butt on the day: by what the day gave from another.
        (
            [
                water_line("beans", 10.0, ["2031-06-11"], "north"),
                water_line("peas", 30.0, ["2031-06-09"], "south"),
            ],
            {"peas": 27.0},
        ),
        # Nothing on the day: by the week.
        (
            [
                water_line("beans", 10.0, ["2031-06-11"], "north"),
                water_line("peas", 30.0, ["2031-06-11"], "south"),
            ],
            {"beans": 27.0},
        ),
        # A plan without water, or for beds that are gone.
        ([water_line("beans", 0.0, [], None)], {"beans": 18.0, "leeks": 9.0}),
        ([water_line("gone", 9.0, ["2031-06-09"], "north")], {"beans": 18.0, "leeks": 9.0}),
    ],
)
def test_the_last_plan_says_which_beds(
    tmp_path: Path, opened: Open, lines: list[dict[str, Any]], expected: dict[str, float]
) -> None:
    garden = garden_of(tmp_path)
    store = opened(garden)
    levels(store, (EVENING, 27.0))
    store.results.save("plan", EVENING - 12 * HOUR, {"water": lines})
    later = [water_line("peas", 10.0, ["2031-06-09"], "north")]
    store.results.save("plan", EVENING + HOUR, {"water": later})
    assert given(garden, store) == expected


def test_what_grows_is_watered(tmp_path: Path, opened: Open) -> None:
    bean = {"crop": "bean", "planted": "05-10"}
    garlic = {"crop": "garlic", "planted": "10-10", "cleared": "05-20"}
    beds = [{**BEDS[0], "crops": [garlic]}, {**BEDS[1], "crops": [bean]}, BEDS[2]]
    garden = garden_of(tmp_path, bed=beds)
    store = opened(garden)
    levels(store, (EVENING, 27.0))
    assert given(garden, store) == {"leeks": 27.0}


@pytest.mark.parametrize(
    "fallen",
    [
        # Less than half a can and what two readings may differ by: 4.5 + 3.4 L.
        [(EVENING, 7.0)],
        # A leak goes on for hours.
        [(EVENING + hour * HOUR, 3.0) for hour in range(-12, 3)],
        # More than 25 L/m² on all beds was let out.
        [(EVENING, 380.0)],
        # Made good again by rain: it cannot be told.
        [(EVENING, 27.0), (EVENING + 2 * HOUR, -40.0)],
    ],
    ids=["little", "leak", "emptied", "rain"],
)
def test_other_falls_are_no_watering(
    tmp_path: Path, opened: Open, fallen: list[tuple[datetime, float]]
) -> None:
    garden = garden_of(tmp_path, butt=[{**NORTH, "litres": "400 L"}, SOUTH])
    store = opened(garden)
    levels(store, *fallen, start_l=390.0)
    assert guesses(garden, store) == []


def test_who_notes_a_watering_is_believed_for_the_day(tmp_path: Path, opened: Open) -> None:
    garden = garden_of(tmp_path)
    store = opened(garden)
    levels(store, (EVENING - DAY, 18.0), (EVENING, 27.0))
    note(store, garden, MIDNIGHT + 9 * HOUR, "watered", bed="peas", litres=0.1)
    assert given(garden, store) == {"beans": 12.0, "leeks": 6.0}
    assert {guess.at for guess in guesses(garden, store)} == {EVENING - DAY}


def test_nothing_is_guessed_of_days_away(tmp_path: Path, opened: Open) -> None:
    garden = garden_of(tmp_path)
    store = opened(garden)
    levels(store, (EVENING - DAY, 18.0), (EVENING, 27.0))
    yesterday = (EVENING - DAY).date().isoformat()
    note(store, garden, EVENING - 3 * DAY, "away", **{"from": yesterday, "to": yesterday})
    assert {guess.at for guess in guesses(garden, store)} == {EVENING}


@pytest.mark.parametrize("kind", ["butt-emptied", "not-watered"])
def test_nothing_is_guessed_where_it_was_no_watering(
    tmp_path: Path, opened: Open, kind: str
) -> None:
    garden = garden_of(tmp_path)
    store = opened(garden)
    levels(store, (EVENING - DAY, 18.0), (EVENING, 27.0))
    note(store, garden, EVENING - DAY, kind, butt="north")
    assert {guess.at for guess in guesses(garden, store)} == {EVENING}


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        # The other bed of this butt had it all.
        ([("beans", None)], {"leeks": 27.0}),
        ([("beans", "peas")], {"leeks": 9.0, "peas": 18.0}),
        ([("beans", "leeks")], {"leeks": 27.0}),
        ([("beans", None), ("leeks", None)], {}),
        # Of a bed that was not thought of nothing changes.
        ([("peas", "leeks")], {"beans": 18.0, "leeks": 9.0}),
    ],
)
def test_a_guess_is_undone_or_given_to_another_bed(
    tmp_path: Path,
    opened: Open,
    said: list[tuple[str, str | None]],
    expected: dict[str, float],
) -> None:
    garden = garden_of(tmp_path)
    store = opened(garden)
    levels(store, (EVENING, 27.0))
    for bed, instead in said:
        job = f"water/{bed}/2031-06-09"
        note(store, garden, EVENING + HOUR, "job-not-done", job=job, instead=instead)
    assert given(garden, store) == expected


def test_a_whole_day_is_no_watering_and_is_one_again_when_that_is_withdrawn(
    tmp_path: Path, opened: Open
) -> None:
    garden = garden_of(tmp_path)
    store = opened(garden)
    levels(store, (EVENING, 27.0))
    said = note(store, garden, EVENING, "not-watered")
    assert guesses(garden, store) == []
    number = store.journal.entries(EVENING)[-1].id
    assert said.kind == "not-watered"
    note(store, garden, EVENING, "corrected", withdraws=number)
    assert {guess.at for guess in guesses(garden, store)} == {EVENING}


def test_water_for_steeps_and_feed_explains_a_fall(tmp_path: Path, opened: Open) -> None:
    garden = garden_of(tmp_path, vessel=[{"name": "nettle", "volume": "60 L"}])
    store = opened(garden)
    levels(store, (EVENING, 68.0))
    matter = [{"plant": "nettle"}]
    note(store, garden, EVENING, "steep-started", vessel="nettle", matter=matter, water_l=50.0)
    # 18 of 68 L are left for beds.
    assert given(garden, store) == {"beans": 12.0, "leeks": 6.0}
    note(store, garden, EVENING, "ready-confirmed", vessel="nettle")
    fed = {"vessel": "nettle", "feed_ml": 30.0, "cans": 2.0}
    note(store, garden, EVENING, "fed", bed="beans", **fed)
    assert guesses(garden, store) == []


def test_a_probe_that_was_silent_tells_of_no_watering(tmp_path: Path, opened: Open) -> None:
    garden = garden_of(tmp_path)
    store = opened(garden)
    put_readings(store, "north-level", {MIDNIGHT - HOUR: 150.0, EVENING: 100.0})
    assert guesses(garden, store) == []


@pytest.mark.parametrize("change", [{"sensor": []}, {"butt": [], "bed": [BEDS[0]]}], ids=str)
def test_where_nothing_is_measured_nothing_is_guessed(
    tmp_path: Path, opened: Open, change: dict[str, Any]
) -> None:
    if "butt" in change:
        bed = {"name": "beans", "area": "6 m2"}
        vessel = [{"name": "nettle", "volume": "60 L"}]
        change = {"butt": [], "bed": [bed], "sensor": [], "vessel": vessel}
    garden = garden_of(tmp_path, **change)
    assert guesses(garden, opened(garden)) == []


def test_nothing_later_than_now_is_looked_at(tmp_path: Path, opened: Open) -> None:
    garden = garden_of(tmp_path)
    store = opened(garden)
    levels(store, (EVENING, 27.0))
    assert guesses(garden, store, EVENING - HOUR / 2) == []
    assert given(garden, store, EVENING + HOUR / 2) == {"beans": 18.0, "leeks": 9.0}


def test_a_guess_wets_the_bed_and_leaves_the_butt_as_read(tmp_path: Path, opened: Open) -> None:
    garden = garden_of(tmp_path)
    store = opened(garden)
    levels(store, (EVENING, 27.0))
    state = state_now(garden, store, flat_record(), NOW)
    # Given in the evening, it is there for today: 18 L on 6 m².
    assert state.watered_today_mm == pytest.approx((3.0, 3.0, 0.0))
    assert state.butts[0].volume_l == pytest.approx(123.0, abs=0.5)


LIVED: dict[str, Any] = {
    "butt": [{"name": "north", "litres": "900 L"}, {"name": "south", "litres": "700 L"}],
    "roof": [
        {"name": "shed", "area": "20 m2", "into": "north"},
        {"name": "porch", "area": "12 m2", "into": "south", "runoff": 0.7},
    ],
    "bed": [
        {
            "name": "potatoes",
            "area": "8 m2",
            "butt": "north",
            "crops": [{"crop": "potato", "planted": "04-01"}],
        },
        {
            "name": "leeks",
            "area": "5 m2",
            "butt": "south",
            "crops": [{"crop": "leek", "planted": "04-15"}],
        },
    ],
    "sensor": [GAUGE, *SENSORS],
}


@pytest.mark.parametrize("tells", [True, False])
def test_a_season_of_a_gardener_who_tells_and_of_one_who_does_not(
    tmp_path: Path, opened: Open, *, tells: bool
) -> None:
    weather = invent_years(2030, 2031, seed=3)
    garden = make_garden(tmp_path, **LIVED)
    store = opened(garden)
    now = datetime(2031, 7, 1, tzinfo=UTC)
    lived = live(garden, store, weather, date(2031, 5, 22), date(2031, 6, 30), seed=1, tells=tells)
    found = guesses(garden, store, now)
    if tells:
        assert found == []
    else:
        truly_l = sum(entry["litres"] for entry in lived.watered)
        assert truly_l > 300.0
        # Rain on the same day hides some of it.
        assert 0.75 * truly_l < sum(guess.litres for guess in found) < 1.1 * truly_l
