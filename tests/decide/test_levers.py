"""What else would help: by hand where the surface stays wet, and by what bars or ends it."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from tests.gardens import flat_record, make_garden, state_of

from steepwell.decide.levers import DEPTH_MM, SHADED, TRIED_D, is_short, levers
from steepwell.garden.tables import reference_tables
from steepwell.outlook.draws import certain
from steepwell.outlook.futures import run_futures
from steepwell.outlook.outlook import make_outlook
from steepwell.outlook.state import SteepNow

if TYPE_CHECKING:
    from steepwell.decide.levers import Lever
    from steepwell.garden.garden import Garden
    from steepwell.outlook.outlook import Outlook
    from steepwell.outlook.state import State

Json = dict[str, Any]

# A Wednesday morning in July.
NOW = datetime(2031, 7, 16, 5, 30, tzinfo=UTC)
MEMBERS = 4
# In the first days of a crop the ground is open; peas in mid-season cover nearly all of it.
OPEN = {"crop": "leek", "planted": "07-14"}
CLOSED = {"crop": "pea", "planted": "05-20"}
DRY = 10.0


def bed(name: str, crop: Json, area: float = 4.0, kind: str = "greenhouse") -> Json:
    return {"name": name, "area": f"{area} m2", "kind": kind, "crops": [crop]}


def garden_of(*beds: Json, litres: float = 50_000.0, **more: Any) -> Garden:  # noqa: ANN401 - sections of many kinds
    return make_garden(bed=list(beds), butt=[{"name": "north", "litres": f"{litres} L"}], **more)


def looked_ahead(garden: Garden, litres: float) -> tuple[State, Outlook]:
    """Return an outlook in which all members agree, it never rains, and all is watered daily."""
    state = state_of(garden, NOW, litres=(litres,), depletion_mm=[DRY] * len(garden.bed))
    outlook = make_outlook(garden, state, flat_record(), [], seed=1, days=60, members=MEMBERS)
    draws = certain(garden, state, MEMBERS)
    futures = run_futures(garden, state, outlook.weather, outlook.asked, draws)
    return state, replace(outlook, draws=draws, futures=futures)


def found(
    garden: Garden, litres: float = 50_000.0, dry_d: int | None = None
) -> dict[tuple[str, str | None], Lever]:
    state, outlook = looked_ahead(garden, litres)
    return {
        (lever.kind, lever.bed): lever for lever in levers(garden, state, outlook, [], dry_d=dry_d)
    }


def test_mulch_keeps_what_the_wet_surface_would_lose_by_half_where_it_covers() -> None:
    """Ke ET0 falls by 5 % for each 10 % covered (FAO-56, p. 198), with Ke by eq. 71 at Kr = 1.

    Under glass, watered every evening with what was lost, the surface is wet each morning.
    """
    garden = garden_of(bed("leeks", OPEN))
    _, outlook = looked_ahead(garden, 50_000.0)
    asked, et0_mm = outlook.asked, outlook.weather.et0_mm[:TRIED_D, 0]
    kcb, kc_max, few = (getattr(asked, name)[:TRIED_D, 0] for name in ("kcb", "kc_max", "exposed"))
    evaporates_mm = np.minimum(kc_max - kcb, few * kc_max) * et0_mm
    grass = reference_tables().mulch("grass-clippings")
    left = DEPTH_MM / grass.covers_mm * 0.5 ** (np.arange(TRIED_D) / grass.half_life_d)
    expected_l = 4.0 * float((0.5 * np.minimum(left, 1.0) * evaporates_mm).sum())
    mulch = found(garden)["mulch", "leeks"]
    # The first evening's water replaces what was lost before.
    assert mulch.litres == pytest.approx(expected_l, rel=0.03)
    assert mulch.litres < 4.0 * float(evaporates_mm.sum()) / 2


def test_mulch_does_little_under_leaves_and_says_so() -> None:
    garden = garden_of(bed("leeks", OPEN), bed("peas", CLOSED))
    every = found(garden)
    share = {
        name: every["mulch", name].litres / every["stop", name].litres for name in ("leeks", "peas")
    }
    assert share["peas"] < 0.1
    assert share["leeks"] > 0.25
    assert "mulch saves little" in every["mulch", "peas"].reason
    assert every["mulch", "leeks"].reason.startswith("the rows are open")
    # A layer of 2.5 cm is 25 L on each square metre.
    takes_l = round(25 * garden.bed[0].area, -1)
    assert every["mulch", "leeks"].reason.endswith(f"takes about {takes_l:.0f} L of clippings")


def test_to_stop_a_bed_saves_what_it_asked_for() -> None:
    garden = garden_of(bed("leeks", OPEN), bed("peas", CLOSED))
    _, outlook = looked_ahead(garden, 50_000.0)
    every = found(garden)
    stopped_l = every["stop", "leeks"].litres + every["stop", "peas"].litres
    wanted_l = float(outlook.futures.wanted_l[:TRIED_D].sum(axis=0).mean())
    assert stopped_l == pytest.approx(wanted_l)
    _, alone = looked_ahead(garden_of(bed("leeks", OPEN)), 50_000.0)
    leeks_l = float(alone.futures.wanted_l[:TRIED_D].sum(axis=0).mean())
    assert every["stop", "leeks"].litres == pytest.approx(leeks_l)


def test_shade_saves_a_quarter_of_what_a_bed_asks_for() -> None:
    every = found(garden_of(bed("leeks", OPEN)))
    share = every["shade", "leeks"].litres / every["stop", "leeks"].litres
    assert share == pytest.approx(1.0 - SHADED, abs=0.02)


def test_nobody_shades_in_winter() -> None:
    garden = garden_of(bed("leeks", {"crop": "leek", "planted": "07-14", "cleared": "03-10"}))
    now = datetime(2031, 11, 5, 6, tzinfo=UTC)
    state = state_of(garden, now, litres=(10.0,), depletion_mm=[DRY])
    outlook = make_outlook(garden, state, flat_record(), [], seed=1, days=60, members=MEMBERS)
    assert {lever.kind for lever in levers(garden, state, outlook, [])} == {"mulch", "stop"}


def test_the_butts_last_longer_by_what_is_saved() -> None:
    # Two beds alike: without one of them the water lasts twice as long, about.
    garden = garden_of(bed("east", OPEN), bed("west", OPEN), litres=400.0)
    _, outlook = looked_ahead(garden, 400.0)
    dry = outlook.document["water"]["dry_by"]["p50"]
    lasts_d = (date.fromisoformat(dry) - NOW.date()).days
    stop = found(garden, 400.0)["stop", "east"]
    assert stop.days == pytest.approx(lasts_d, abs=3)


@pytest.mark.parametrize(
    ("tap", "litres", "cans"),
    [
        # Some 25 L a day are wanted: a fortnight of them is more than ten cans of 9 L.
        ("yes", 0.0, 10),
        ("no", 0.0, None),
        ("unknown", 0.0, None),
        # The butts see the beds through a fortnight.
        ("yes", 50_000.0, None),
    ],
)
def test_the_tap_bridges_a_fortnight_where_it_may(
    tap: str, litres: float, cans: int | None
) -> None:
    garden = garden_of(bed("leeks", OPEN), bed("peas", CLOSED), tap={"available": tap})
    lever = found(garden, litres).get(("tap", None))
    assert (lever.litres if lever else None) == (cans and cans * 9.0)


def test_tap_water_makes_the_butts_last_longer() -> None:
    garden = garden_of(bed("leeks", OPEN), litres=500.0, tap={"available": "yes"})
    tap = found(garden, 60.0)["tap", None]
    # A leek bed of 4 m² wants less than 25 L a day, so that 90 L are more than three days.
    assert tap.litres == 90.0
    assert 3.0 < tap.days < 15.0


@pytest.mark.parametrize(
    ("lawn", "dry_d", "cover"),
    [
        # No lawn: where mulch comes from is not known.
        (None, None, 1.0),
        ({"area": "40 m2", "treated": True}, None, None),
        ({"area": "40 m2", "treated": False}, 21, None),
        # 0.35 L/m² a week for a fortnight on 40 m² are 28 L; 4 m² take 100 L (from memory).
        ({"area": "40 m2", "treated": False}, 20, 0.28),
        ({"area": "40 m2", "treated": False}, None, 0.28),
        ({"area": "400 m2", "treated": False}, 0, 1.0),
    ],
)
def test_no_more_is_mulched_than_the_lawn_has_grown(
    lawn: Json | None, dry_d: int | None, cover: float | None
) -> None:
    more: Json = {} if lawn is None else {"lawn": lawn}
    mulch = found(garden_of(bed("leeks", OPEN), **more), dry_d=dry_d).get(("mulch", "leeks"))
    assert (mulch.cover if mulch else None) == (cover and pytest.approx(cover))


@pytest.mark.parametrize(
    ("changes", "mulched"),
    [
        ({"kind": "tray"}, False),
        ({"mulch": {"cover": 0.95}}, False),
        ({"mulch": {"cover": 0.3}}, True),
    ],
)
def test_trays_and_mulched_beds_are_not_mulched(changes: Json, *, mulched: bool) -> None:
    garden = garden_of({**bed("leeks", OPEN), **changes})
    assert (("mulch", "leeks") in found(garden)) is mulched


def test_dry_soil_is_watered_before_it_is_mulched() -> None:
    garden = garden_of(bed("leeks", OPEN), lawn={"area": "200 m2", "treated": False})
    state, outlook = looked_ahead(garden, 100.0)
    moist = replace(state, beds=(replace(state.beds[0], depletion_mm=3.0),))
    reasons = [
        next(lever.reason for lever in levers(garden, now, outlook, []) if lever.kind == "mulch")
        for now in (state, moist)
    ]
    assert reasons == [
        "the rows are open; water it first, for mulch keeps dry soil dry",
        "the rows are open and the soil is moist",
    ]


def test_a_bed_without_a_crop_has_no_levers() -> None:
    later = {"crop": "leek", "planted": (NOW + timedelta(days=9)).strftime("%m-%d")}
    garden = garden_of(bed("leeks", OPEN), bed("later", later))
    state, outlook = looked_ahead(garden, 100.0)
    state = replace(state, beds=(state.beds[0], replace(state.beds[1], crop=None)))
    assert {lever.bed for lever in levers(garden, state, outlook, [])} == {"leeks"}


def test_without_a_butt_nothing_runs_short() -> None:
    garden = make_garden(butt=[], vessel=[{"name": "nettle", "volume": "60 L"}])
    started = SteepNow("nettle", 15.0, None, 0.0, 0.0, 0.0, ())
    state = state_of(garden, NOW, litres=(), depletion_mm=[DRY], steeps=[started])
    outlook = make_outlook(garden, state, flat_record(), [], seed=1, days=60, members=MEMBERS)
    assert not is_short(garden, outlook)


@pytest.mark.parametrize(("litres", "short"), [(0.0, True), (50_000.0, False)])
def test_water_is_short_if_the_butts_run_dry_within_six_weeks(
    litres: float, *, short: bool
) -> None:
    garden = garden_of(bed("leeks", OPEN))
    _, outlook = looked_ahead(garden, litres)
    assert is_short(garden, outlook) is short
