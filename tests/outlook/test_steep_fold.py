"""What the journal makes of a steep: litres, rung, readiness, end, and how entries mend it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest
from tests.gardens import Json, flat_record, make_garden, note, vessel_probe

from steepwell.model.dilution import LADDER
from steepwell.outlook.now import state_now
from steepwell.outlook.vessel_summary import rungs_ahead

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from tests.gardens import Open

    from steepwell.garden.garden import Garden
    from steepwell.outlook.state import SteepNow
    from steepwell.store.store import Store

NOW = datetime(2031, 6, 10, 12, 0, tzinfo=UTC)
DAY = timedelta(days=1)
# Held at the reference temperature a steep is as old as the calendar says, and nothing evaporates
# where day and night are alike.
REFERENCE = flat_record(tmin_c=17.0, tmax_c=17.0)
NETTLES = [{"plant": "nettle", "kg": 5.0}]


def a_vessel(folder: Path, **more: object) -> Garden:
    return make_garden(folder, vessel=[{"name": "nettle", "volume": "60 L", **more}])


def lived(
    store: Store, garden: Garden, days: float, *entries: tuple[float, str, Mapping[str, object]]
) -> SteepNow:
    """Return a steep of some days, with what was noted so many days ago."""
    began = NOW - days * DAY
    note(store, garden, began, "steep-started", vessel="nettle", matter=NETTLES, water_l=50.0)
    for ago, kind, words in entries:
        vessel = {} if kind == "corrected" else {"vessel": "nettle"}
        note(store, garden, NOW - ago * DAY, kind, **vessel, **words)
    return state_now(garden, store, REFERENCE, NOW).vessels[0]


@pytest.mark.parametrize(
    ("days", "parts"),
    # Common practice, no source: 1:30 at two weeks, 1:400 to 1:500 at about a year, held there;
    # between them the next thinner rung of 30 (1 - e^-0.001 age) / (1 - e^-0.014): 100 d 205.3.
    [(9.9, None), (13.9, None), (14.1, 60), (100.0, 300), (365.0, 500), (700.0, 500)],
)
def test_a_label_by_age(tmp_path: Path, opened: Open, days: float, parts: int | None) -> None:
    garden = a_vessel(tmp_path)
    now = lived(opened(garden), garden, days)
    assert now.dilution_parts == parts
    assert (now.ready_since is None) == (parts is None)


def test_since_when_it_is_ready(tmp_path: Path, opened: Open) -> None:
    garden = a_vessel(tmp_path)
    now = lived(opened(garden), garden, 20.0)
    assert now.ready_since is not None
    assert now.ready_since - (NOW - 6 * DAY) < timedelta(hours=1)


def test_what_settles_must_stay(tmp_path: Path, opened: Open) -> None:
    garden = a_vessel(tmp_path)
    now = lived(opened(garden), garden, 20.0, (3.0, "drawn-off", {"litres": 10.0}))
    # 5 kg at half a litre of solids a kilogram, from memory.
    assert (now.liquid_l, now.solids_l, now.usable_l) == pytest.approx((40.0, 2.5, 37.5))


@pytest.mark.parametrize(
    ("matter", "solids_l"),
    [
        # Buckets by the table, from memory: nettles 2 kg packed, 0.8 kg loose; not said is packed.
        ([{"plant": "nettle", "buckets": 3.0, "packed": False}], 1.2),
        ([{"plant": "nettle", "buckets": 3.0, "packed": True}], 3.0),
        ([{"plant": "nettle", "buckets": 3.0}], 3.0),
        ([{"plant": "leek", "buckets": 2.0}], 2.5),
        # Nobody said: 2.5 kg to 10 L.
        ([{"plant": "nettle"}], 6.25),
    ],
)
def test_buckets_are_told_in_kilograms(
    tmp_path: Path, opened: Open, matter: list[dict[str, object]], solids_l: float
) -> None:
    garden = a_vessel(tmp_path)
    store = opened(garden)
    words: Json = {"vessel": "nettle", "matter": matter, "water_l": 50.0}
    note(store, garden, NOW - 20 * DAY, "steep-started", **words)
    now = state_now(garden, store, REFERENCE, NOW).vessels[0]
    assert now.solids_l == pytest.approx(solids_l)


def test_rainwater_thins_what_was_drawn(tmp_path: Path, opened: Open) -> None:
    garden = a_vessel(tmp_path)
    store = opened(garden)
    drawn = (0.2, "drawn-off", {"litres": 25.0})
    now = lived(store, garden, 100.0, drawn, (0.1, "topped-up", {"litres": 25.0}))
    # 1:205.3 before, so 206.3 / 2 - 1 = 1:102.2 after: the next rung is 150.
    assert now.liquid_l == pytest.approx(50.0)
    assert now.dilution_parts == 150
    # Withdrawn, the next fold knows nothing of it: all that was drawn is gone.
    note(store, garden, NOW, "corrected", withdraws=3)
    mended = state_now(garden, store, REFERENCE, NOW).vessels[0]
    assert mended.liquid_l == pytest.approx(25.0)
    assert mended.dilution_parts == 300


def test_a_year_old_vessel_is_held_at_its_last_rung(tmp_path: Path, opened: Open) -> None:
    garden = a_vessel(tmp_path)
    drawn = (20.0, "drawn-off", {"litres": 20.0})
    now = lived(opened(garden), garden, 380.0, drawn, (19.0, "topped-up", {"litres": 20.0}))
    assert now.dilution_parts == 500


def test_fresh_matter_in_a_nearly_empty_vessel_has_to_ripen(tmp_path: Path, opened: Open) -> None:
    garden = a_vessel(tmp_path)
    fresh: Json = {"litres": 45.0, "matter": [{"plant": "comfrey", "kg": 13.5}]}
    drawn = (8.0, "drawn-off", {"litres": 46.0})
    now = lived(opened(garden), garden, 60.0, drawn, (7.0, "topped-up", fresh))
    assert now.dilution_parts is None
    assert now.plants == ("nettle", "comfrey")
    assert now.ripens_from == NOW - 7 * DAY
    assert now.ripens_age_d == pytest.approx(7.0)


def test_a_handful_more_changes_nothing_of_that(tmp_path: Path, opened: Open) -> None:
    garden = a_vessel(tmp_path)
    fresh: Json = {"litres": 5.0, "matter": [{"plant": "nettle", "kg": 0.5}]}
    drawn = (8.0, "drawn-off", {"litres": 5.0})
    now = lived(opened(garden), garden, 60.0, drawn, (7.0, "topped-up", fresh))
    assert now.dilution_parts is not None
    assert now.ripens_from == NOW - 60 * DAY


def test_seen_to_be_ready_it_is(tmp_path: Path, opened: Open) -> None:
    garden = a_vessel(tmp_path)
    now = lived(opened(garden), garden, 11.0, (2.0, "ready-confirmed", {}))
    assert (now.dilution_parts, now.ready_since) == (30, NOW - 2 * DAY)


@pytest.mark.parametrize(("times", "parts"), [(0, 150), (1, 200), (2, 300), (9, 500)])
def test_too_strong_is_a_step_thinner_each_time(
    tmp_path: Path, opened: Open, times: int, parts: int
) -> None:
    garden = a_vessel(tmp_path)
    noted: list[tuple[float, str, Json]] = [
        (2.0 - 0.1 * index, "too-strong", {}) for index in range(times)
    ]
    # 1:124.8 at 60 days by the thinning curve.
    assert lived(opened(garden), garden, 60.0, *noted).dilution_parts == parts


@pytest.mark.parametrize(
    ("days", "ds_m", "parts"),
    # 33 / 0.7 - 1 is 46 (FAO-29, Table 1), thinner than 1:30.2 and not than 1:205.
    [(14.1, 33.0, 60), (14.1, 80.0, 150), (100.0, 33.0, 300), (100.0, 0.5, 300)],
)
def test_a_meter_never_makes_it_stronger(
    tmp_path: Path, opened: Open, days: float, ds_m: float, parts: int
) -> None:
    garden = a_vessel(tmp_path)
    measured = (0.05, "conductivity-measured", {"ds_m": ds_m})
    assert lived(opened(garden), garden, days, measured).dilution_parts == parts


def test_a_washed_out_vessel_is_at_its_end(tmp_path: Path, opened: Open) -> None:
    garden = a_vessel(tmp_path)
    washed: list[tuple[float, str, Json]] = []
    for index in range(6):
        washed += [
            (10.0 - index, "drawn-off", {"litres": 45.0}),
            (9.9 - index, "topped-up", {"litres": 45.0}),
        ]
    now = lived(opened(garden), garden, 300.0, *washed)
    assert (now.ended, now.dilution_parts) == (True, None)


def test_decanted_liquid_is_gone_from_the_vessel(tmp_path: Path, opened: Open) -> None:
    garden = a_vessel(tmp_path)
    now = lived(
        opened(garden), garden, 20.0, (1.0, "decanted", {"litres": 12.0, "into": "old can"})
    )
    assert (now.liquid_l, now.drawn_l) == pytest.approx((38.0, 12.0))


@pytest.mark.parametrize(
    ("declared", "days", "parts"),
    [
        ({"ready_after": "504 h"}, 20.0, None),
        ({"ready_after": "504 h"}, 22.0, 60),
        ({"ready_after": "192 h"}, 9.0, 30),
        ({"ladder": [50, 120, 250]}, 20.0, 50),
        ({"ladder": [50, 120, 250]}, 60.0, 250),
        ({"ladder": [50, 120, 250]}, 400.0, 250),
    ],
)
def test_an_owner_may_have_an_age_and_a_ladder_of_his_own(
    tmp_path: Path, opened: Open, declared: dict[str, object], days: float, parts: int | None
) -> None:
    garden = a_vessel(tmp_path, **declared)
    assert lived(opened(garden), garden, days).dilution_parts == parts


def test_a_bad_lid_lets_water_go_and_thickens_the_rest(tmp_path: Path, opened: Open) -> None:
    garden = a_vessel(tmp_path, lid="open")
    store = opened(garden)
    note(store, garden, NOW - 60 * DAY, "steep-started", vessel="nettle", matter=NETTLES)
    sunny = flat_record(tmin_c=10.0, tmax_c=24.0)
    now = state_now(garden, store, sunny, NOW).vessels[0]
    # Open water takes 1.05 ET0 (FAO-56, Table 12): some 3 to 6 mm a day in May on 0.14 m2.
    assert 60 * 0.14 * 3.0 < 54.0 - now.liquid_l < 60 * 0.14 * 6.5
    assert now.dilution_parts is not None
    assert now.dilution_parts > 150


def test_the_vessel_beside_a_probe_is_less_sure(tmp_path: Path, opened: Open) -> None:
    vessel = [{"name": name, "volume": "60 L"} for name in ("nettle", "leek")]
    sensor = [{**vessel_probe("nettle"), "of": ["nettle", "leek"]}]
    garden = make_garden(tmp_path, vessel=vessel, sensor=sensor)
    store = opened(garden)
    for name in ("nettle", "leek"):
        note(store, garden, NOW - 9 * DAY, "steep-started", vessel=name, matter=NETTLES)
    own, beside = state_now(garden, store, REFERENCE, NOW).vessels
    assert beside.doubt.beside_sd_c > own.doubt.beside_sd_c == 0.0


def ahead(now: SteepNow, days: float) -> int:
    """Return the rung on which it will be told in some days, if it is left alone."""
    ages_d = np.array([[now.calendar_age_d(NOW) + days]])
    at = rungs_ahead(now, LADDER, ages_d, label=now.dilution_parts, now=NOW)
    return LADDER[int(at[0, 0])]


def test_what_is_told_ahead_is_told_when_the_day_has_come(tmp_path: Path, opened: Open) -> None:
    garden = a_vessel(tmp_path)
    # At 100 days 30 (1 - e^-0.1) / (1 - e^-0.014) = 205.3 parts. With half of it drawn and made
    # good with water these are 102.2 of the old and 57.7 that the matter gives in 30 days: 159.9.
    halved = [("drawn-off", {"litres": 25.0}), ("topped-up", {"litres": 25.0})]
    first = [(0.01, kind, words) for kind, words in halved]
    now = lived(opened(garden), garden, 100.0, *first)
    assert (now.dilution_parts, ahead(now, 30.0)) == (150, 200)
    (tmp_path / "later").mkdir()
    garden = a_vessel(tmp_path / "later")
    later = [(30.0, kind, words) for kind, words in halved]
    assert lived(opened(garden), garden, 130.0, *later).dilution_parts == 200


FRESH = [{"plant": "comfrey", "kg": 20.0}]


def test_what_is_seen_to_be_ready_counts_after_fresh_matter(tmp_path: Path, opened: Open) -> None:
    garden = a_vessel(tmp_path)
    entries: list[tuple[float, str, Json]] = [
        (2.0, "ready-confirmed", {}),
        (1.0, "topped-up", {"litres": 1.0, "matter": FRESH}),
    ]
    store = opened(garden)
    assert lived(store, garden, 5.0, *entries).ready_since is None
    note(store, garden, NOW - 0.5 * DAY, "ready-confirmed", vessel="nettle")
    now = state_now(garden, store, REFERENCE, NOW).vessels[0]
    assert now.ready_since == NOW - 0.5 * DAY
    assert now.dilution_parts is not None


def test_a_young_steep_with_fresh_matter_does_not_leap_ahead(tmp_path: Path, opened: Open) -> None:
    garden = a_vessel(tmp_path)
    fresh = {"litres": 1.0, "matter": FRESH}
    now = lived(
        opened(garden), garden, 0.02, (0.01, "topped-up", fresh), (0.0, "ready-confirmed", {})
    )
    # A day old, 25 kg steep 130 L at the usual load: (130 / 51) (1 + 2.2 parts) - 1 = 7.1.
    assert (now.dilution_parts, ahead(now, 1.0)) == (30, 30)
