"""Who gets water: in cans, never more than there is, the bed that loses most first."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Any, NamedTuple

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.gardens import make_garden, state_of

from steepwell.decide.watering import Watering, share_water
from steepwell.outlook.state import BedNow, State

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden

NOW = datetime(2031, 7, 15, 5, 30, tzinfo=UTC)
TODAY = date(2031, 7, 15)
# FAO-56, Table 24, p. 181, and 1 where it has none (p. 177).
KY = {"bean": 1.15, "tomato": 1.05, "cabbage": 0.95, "leek": 1.0, "sweet-corn": 1.25}


def bed(name: str, area_m2: float = 3.0, **more: object) -> dict[str, object]:
    return {"name": name, "area": f"{area_m2} m2", **more}


def moment(garden: Garden, *beds: BedNow, litres: list[float] | None = None) -> State:
    state = state_of(
        garden,
        NOW,
        litres=litres or [butt.capacity_l for butt in garden.butt],
        depletion_mm=[0.0 for _ in garden.bed],
    )
    none = tuple(0.0 for _ in beds)
    return State(NOW, TODAY, 0.0, none, none, state.butts, beds, ())


def dry(name: str, crop: str | None = "leek", depletion_mm: float = 15.0) -> BedNow:
    return BedNow(name, depletion_mm, 52.0, 18.2, crop)


def shared(
    garden: Garden, wanted_l: dict[str, float], *beds: BedNow, litres: list[float] | None = None
) -> dict[str, Watering]:
    lines = share_water(garden, moment(garden, *beds, litres=litres), wanted_l)
    return {line.bed: line for line in lines}


class Case(NamedTuple):
    """A garden, what is so in it, and what its beds want."""

    garden: Garden
    state: State
    wanted_l: dict[str, float]


@st.composite
def cases(draw: st.DrawFn) -> Case:
    butts = [f"butt-{number}" for number in range(draw(st.integers(1, 3)))]
    names = [f"bed-{number}" for number in range(draw(st.integers(1, 6)))]
    raw: dict[str, Any] = {
        "can": {"size": f"{draw(st.sampled_from([4.5, 5, 9, 10, 12]))} L"},
        "butt": [{"name": name, "litres": "300 L", "dead_volume": "10 L"} for name in butts],
        "bed": [
            {
                "name": name,
                "area": f"{draw(st.integers(2, 60)) / 5} m2",
                "priority": draw(st.sampled_from([0.5, 1.0, 2.0])),
                **draw(st.sampled_from([{}, *({"butt": butt} for butt in butts)])),
            }
            for name in names
        ],
    }
    garden = make_garden(**raw)
    crops = st.sampled_from([None, *KY])
    beds = [dry(name, draw(crops), float(draw(st.integers(0, 52)))) for name in names]
    litres = [float(draw(st.integers(0, 300))) for _ in butts]
    wanted = {name: draw(st.floats(0.0, 400.0)) for name in names}
    return Case(garden, moment(garden, *beds, litres=litres), wanted)


@given(case=cases())
def test_water_comes_in_cans_and_never_more_than_there_is(case: Case) -> None:
    garden, can_l = case.garden, case.garden.can.size
    lines = share_water(garden, case.state, case.wanted_l)
    in_hand = sum(max(butt.volume_l - 10.0, 0.0) for butt in case.state.butts)
    assert sum(line.litres for line in lines) <= in_hand + 1e-6
    area = {one.name: one.area for one in garden.bed}
    for line in lines:
        assert (2 * line.cans).is_integer()
        assert line.litres == pytest.approx(line.cans * can_l)
        assert line.reason
        if line.litres == 0.0:
            assert (line.days, line.butt) == ((), None)
            continue
        assert line.litres >= 5.0 * area[line.bed] - 1e-6
        # No more than it wants, but for the half can that makes 5 L/m² full.
        least_l = 5.0 * area[line.bed] + can_l / 2
        assert line.litres <= max(case.wanted_l[line.bed], least_l) + 1e-6
        assert line.butt in {butt.name for butt in garden.butt}
        # Half a can is never parted.
        twice = line.litres > 12.0 * area[line.bed] and line.cans > 0.5
        assert len(line.days) == (2 if twice else 1)
        assert all(TODAY <= day < TODAY + timedelta(days=7) for day in line.days)


@given(case=cases())
def test_every_bed_that_wants_water_is_told_of_in_order(case: Case) -> None:
    lines = share_water(case.garden, case.state, case.wanted_l)
    growing = {now.name: now for now in case.state.beds if now.crop}
    asking = {name for name in growing if case.wanted_l[name] > 0}
    assert {line.bed for line in lines} == asking
    assert len(lines) == len(asking)
    priority = {one.name: one.priority for one in case.garden.bed}
    claims = [priority[line.bed] * KY[growing[line.bed].crop or ""] for line in lines]
    assert claims == sorted(claims, reverse=True)


@given(case=cases())
def test_no_bed_goes_without_while_there_is_water_for_it(case: Case) -> None:
    lines = share_water(case.garden, case.state, case.wanted_l)
    in_hand = sum(max(butt.volume_l - 10.0, 0.0) for butt in case.state.butts)
    left = in_hand - sum(line.litres for line in lines)
    area = {one.name: one.area for one in case.garden.bed}
    can_l = case.garden.can.size
    for line in lines:
        if not line.litres:
            assert left < 5.0 * area[line.bed] + can_l / 2 + 1e-6


@pytest.mark.parametrize(
    ("crops", "priorities", "first"),
    [
        # Ky of FAO-56, Table 24, p. 181: bean 1.15, tomato 1.05, cabbage 0.95.
        (("tomato", "bean"), (1.0, 1.0), "second"),
        (("tomato", "cabbage"), (1.0, 1.0), "first"),
        # 1.2 x 0.95 = 1.14 is less than 1.15; 1.3 x 0.95 = 1.235 is more.
        (("cabbage", "bean"), (1.2, 1.0), "second"),
        (("cabbage", "bean"), (1.3, 1.0), "first"),
    ],
)
def test_priority_times_response_to_dryness_comes_first(
    crops: tuple[str, str], priorities: tuple[float, float], first: str
) -> None:
    names = ("first", "second")
    beds = [bed(name, priority=one) for name, one in zip(names, priorities, strict=True)]
    garden = make_garden(bed=beds, butt=[{"name": "north", "litres": "20 L"}])
    now = [dry(name, crop) for name, crop in zip(names, crops, strict=True)]
    lines = shared(garden, {"first": 18.0, "second": 18.0}, *now)
    # 20 L are enough for 5 L/m² on one bed of 3 m² only.
    assert {name for name, line in lines.items() if line.litres} == {first}


def test_of_two_alike_the_drier_comes_first() -> None:
    garden = make_garden(bed=[bed("moist"), bed("dry")], butt=[{"name": "north", "litres": "20 L"}])
    wanted = {"moist": 18.0, "dry": 18.0}
    lines = shared(garden, wanted, dry("moist", depletion_mm=12.0), dry("dry", depletion_mm=14.0))
    assert list(lines) == ["dry", "moist"]
    assert [line.litres for line in lines.values()] == [18.0, 0.0]


@pytest.mark.parametrize(
    ("area_m2", "wanted_l", "cans"),
    [
        # A can holds 9 L. 5 L/m² on 3 m² are 15 L: two cans is the least that is worth the way.
        (3.0, 1.0, 2.0),
        (3.0, 15.0, 2.0),
        (3.0, 22.4, 2.0),
        (3.0, 22.5, 2.5),
        (1.8, 9.0, 1.0),
        (0.9, 4.5, 0.5),
        (0.4, 1.0, 0.5),
    ],
)
def test_a_bed_gets_what_it_wants_in_half_cans(
    area_m2: float, wanted_l: float, cans: float
) -> None:
    garden = make_garden(bed=[bed("all", area_m2)])
    assert shared(garden, {"all": wanted_l}, dry("all"))["all"].cans == cans


@pytest.mark.parametrize(
    ("wanted_l", "days"),
    [
        # 36 L on 3 m² are 12 L/m², and 40.5 L are more.
        (36.0, [TODAY]),
        (40.5, [TODAY, TODAY + timedelta(days=3)]),
    ],
)
def test_more_than_twelve_litres_a_square_metre_come_in_two_rounds(
    wanted_l: float, days: list[date]
) -> None:
    line = shared(make_garden(bed=[bed("all")]), {"all": wanted_l}, dry("all"))["all"]
    assert line.litres == wanted_l
    assert list(line.days) == days


@pytest.mark.parametrize(("depletion_mm", "wait_d"), [(9.0, 2), (9.2, 0), (30.0, 0)])
def test_a_moist_bed_waits_two_days(depletion_mm: float, wait_d: int) -> None:
    # Half of the 18.2 mm that it can spare are 9.1 mm.
    garden = make_garden(bed=[bed("all")])
    line = shared(garden, {"all": 18.0}, dry("all", depletion_mm=depletion_mm))["all"]
    assert line.days == (TODAY + timedelta(days=wait_d),)


@pytest.mark.parametrize(
    ("in_hand_l", "expected"),
    [
        # A soaking of 15 L/m² on 3 m² is 45 L. Both want 90 L; beans lose more than leeks.
        (190.0, (90.0, 90.0)),
        (117.0, (72.0, 45.0)),
        (90.0, (45.0, 45.0)),
        (81.0, (45.0, 36.0)),
        (63.0, (45.0, 18.0)),
        (45.0, (45.0, 0.0)),
        (13.0, (0.0, 0.0)),
    ],
)
def test_both_are_soaked_before_one_gets_more(
    in_hand_l: float, expected: tuple[float, float]
) -> None:
    garden = make_garden(bed=[bed("beans"), bed("leeks")])
    now = (dry("beans", "bean"), dry("leeks", "leek"))
    lines = shared(garden, {"beans": 90.0, "leeks": 90.0}, *now, litres=[in_hand_l])
    assert (lines["beans"].litres, lines["leeks"].litres) == expected


@pytest.mark.parametrize("kind", ["pot", "tray", "greenhouse"])
@pytest.mark.parametrize(
    ("wanted_l", "in_hand_l", "daily_l"),
    [
        # 2 m²; 20 L a week are 2.9 L a day, given in half litres.
        (20.0, 200.0, 3.0),
        # Never more than 7 L/m² a day.
        (150.0, 200.0, 14.0),
        # As far as it goes for seven days.
        (150.0, 60.0, 8.5),
        (20.0, 3.0, None),
    ],
)
def test_what_no_rain_reaches_has_water_by_the_day(
    kind: str, wanted_l: float, in_hand_l: float, daily_l: float | None
) -> None:
    garden = make_garden(bed=[bed("covered", 2.0, kind=kind)])
    line = shared(garden, {"covered": wanted_l}, dry("covered"), litres=[in_hand_l])["covered"]
    assert (line.daily_l, line.litres) == (daily_l, 7 * (daily_l or 0.0))
    assert (line.cans, line.days) == (0.0, ())
    assert ("no rain reaches it" in line.reason) == (daily_l is not None)


@pytest.mark.parametrize(("tap", "from_tap"), [("yes", True), ("no", False), ("unknown", False)])
def test_trays_have_tap_water_where_there_is_a_tap(tap: str, *, from_tap: bool) -> None:
    garden = make_garden(bed=[bed("seedlings", 1.0, kind="tray")], tap={"available": tap})
    line = shared(garden, {"seedlings": 21.0}, dry("seedlings"), litres=[100.0])["seedlings"]
    assert (line.daily_l, line.butt, line.from_tap) == (
        3.0,
        None if from_tap else "north",
        from_tap,
    )
    # With a tap, dry butts do not matter.
    without = shared(garden, {"seedlings": 21.0}, dry("seedlings"), litres=[0.0])["seedlings"]
    assert without.daily_l == (3.0 if from_tap else None)


def test_daily_water_comes_off_the_top() -> None:
    garden = make_garden(bed=[bed("beans", 2.0, priority=2.0), bed("pots", 1.0, kind="pot")])
    now = (dry("beans", "bean"), dry("pots", "leek"))
    lines = shared(garden, {"beans": 90.0, "pots": 21.0}, *now, litres=[48.0])
    assert (lines["pots"].litres, lines["beans"].litres) == (21.0, 27.0)


def test_nobody_has_a_second_soaking_before_all_have_had_one() -> None:
    garden = make_garden(bed=[bed("beans"), bed("leeks")])
    now = (dry("beans", "bean"), dry("leeks", "leek"))
    # A soaking of 3 m² is 45 L: two each, and of the third there is one can for the first bed.
    lines = shared(garden, {"beans": 150.0, "leeks": 150.0}, *now, litres=[189.0])
    assert (lines["beans"].litres, lines["leeks"].litres) == (99.0, 90.0)


def test_a_small_bed_gets_what_is_too_little_for_a_large_one() -> None:
    garden = make_garden(bed=[bed("large", 10.0), bed("small", 1.0)])
    wanted = {"large": 60.0, "small": 9.0}
    now = (dry("large", "bean"), dry("small", "leek"))
    lines = shared(garden, wanted, *now, litres=[30.0])
    assert (lines["large"].litres, lines["small"].litres) == (0.0, 9.0)


@pytest.mark.parametrize(
    ("litres", "butt"),
    [
        ([100.0, 200.0], "north"),
        # What is below the tap of its own butt does not help.
        ([35.0, 200.0], "south"),
        ([10.0, 200.0], "south"),
    ],
)
def test_water_comes_from_its_own_butt_while_that_has_enough(
    litres: list[float], butt: str
) -> None:
    butts = [
        {"name": "north", "litres": "200 L", "dead_volume": "20 L"},
        {"name": "south", "litres": "200 L"},
    ]
    garden = make_garden(bed=[bed("all", butt="north")], butt=butts)
    line = shared(garden, {"all": 18.0}, dry("all"), litres=litres)["all"]
    assert (line.butt, line.litres) == (butt, 18.0)


def test_a_butt_drawn_for_one_bed_has_less_for_the_next() -> None:
    butts = [{"name": "north", "litres": "200 L"}, {"name": "south", "litres": "200 L"}]
    garden = make_garden(bed=[bed("beans"), bed("leeks")], butt=butts)
    now = (dry("beans", "bean"), dry("leeks", "leek"))
    lines = shared(garden, {"beans": 36.0, "leeks": 36.0}, *now, litres=[60.0, 50.0])
    assert (lines["beans"].butt, lines["leeks"].butt) == ("north", "south")


def test_beds_without_a_crop_and_beds_that_want_nothing_are_left_out() -> None:
    garden = make_garden(bed=[bed("bare"), bed("moist"), bed("unknown")])
    now = (dry("bare", None), dry("moist"), dry("unknown"))
    assert shared(garden, {"bare": 30.0, "moist": 0.0}, *now) == {}


def test_a_garden_without_butts_has_no_water_to_share() -> None:
    garden = make_garden(butt=[], vessel=[{"name": "nettle", "volume": "60 L"}], bed=[bed("all")])
    line = shared(garden, {"all": 30.0}, dry("all"), litres=[])["all"]
    assert (line.litres, line.butt) == (0.0, None)
