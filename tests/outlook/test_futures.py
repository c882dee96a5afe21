"""Every member of the ensemble, by balance and by hand calculation."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from tests.gardens import crop_alone, make_garden, state_of

from steepwell.outlook.draws import Draws, certain
from steepwell.outlook.futures import run_futures
from steepwell.outlook.observed import share_of_today_left
from steepwell.outlook.state import SteepNow
from steepwell.outlook.weather import Weather

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.garden.garden import Garden
    from steepwell.outlook.demand import BedDays
    from steepwell.outlook.futures import Futures
    from steepwell.outlook.state import State

Array = NDArray[np.float64]

MIDNIGHT = datetime(2031, 6, 1, tzinfo=UTC)
DAY = timedelta(days=1)
# Lloyd and Taylor (1994), eq. 11: R/R10 at 30, 17 and 10 °C.
RATE_30, RATE_17, RATE_10 = 4.25928, 1.84378, 1.0


def steady(
    days: int, members: int = 1, *, rain_mm: float = 0.0, mean_c: float = 17.0, et0_mm: float = 0.0
) -> Weather:
    shape = (days, members)
    return Weather(*(np.full(shape, value) for value in (rain_mm, mean_c, et0_mm)))


def ahead(garden: Garden, state: State, weather: Weather, beds: BedDays) -> Futures:
    """Return futures in which only the weather is uncertain."""
    draws = certain(garden, state, weather.rain_mm.shape[1])
    return run_futures(garden, state, weather, beds, draws)


def run(
    garden: Garden,
    weather: Weather,
    *,
    now: datetime = MIDNIGHT,
    litres: Sequence[float] = (200.0,),
    depletion_mm: Sequence[float] = (0.0,),
    rain_today_mm: float = 0.0,
) -> Futures:
    state = state_of(
        garden, now, litres=litres, depletion_mm=depletion_mm, rain_today_mm=rain_today_mm
    )
    return ahead(garden, state, weather, crop_alone(len(weather.rain_mm), len(garden.bed)))


def steep(
    celsius: float, *, began: datetime | None = MIDNIGHT, thermal_age_d: float = 0.0
) -> SteepNow:
    return SteepNow("nettle", celsius, began, thermal_age_d, 54.0, 0.0, ("nettle",))


# --- Water ----------------------------------------------------------------------------------------


class Case(NamedTuple):
    """A garden of any shape, what is in its butts and beds, and some weather."""

    garden: Garden
    litres: list[float]
    depletion_mm: list[float]
    weather: Weather
    now: datetime


@st.composite
def cases(draw: st.DrawFn) -> Case:
    names = ["north", "south", "west"][: draw(st.integers(1, 3))]
    capacities = [draw(st.integers(20, 400)) for _ in names]
    order = draw(st.permutations(range(len(names))))
    butt = []
    for index, name in enumerate(names):
        dead_l = draw(st.integers(0, capacities[index] // 3))
        one = {"name": name, "litres": f"{capacities[index]} L", "dead_volume": f"{dead_l} L"}
        lower = [names[other] for other in range(len(names)) if order[other] > order[index]]
        overflow_to = draw(st.sampled_from([None, *lower]))
        if overflow_to is not None:
            one["overflow_to"] = overflow_to
        butt.append(one)
    roof = [
        {"name": f"roof-{number}", "area": f"{draw(st.integers(1, 40))} m2", "into": into}
        for number, into in enumerate(draw(st.lists(st.sampled_from(names), max_size=3)))
    ]
    bed = [
        {"name": f"bed-{number}", "area": f"{draw(st.integers(1, 9))} m2", "kind": kind}
        for number, kind in enumerate(
            draw(st.lists(st.sampled_from(["ground", "greenhouse"]), min_size=1, max_size=3))
        )
    ]
    garden = make_garden(butt=butt, roof=roof, bed=bed)
    shape = (draw(st.integers(1, 20)), draw(st.integers(1, 4)))
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    rain = rng.gamma(0.3, 12.0, shape)
    return Case(
        garden,
        [float(draw(st.integers(0, capacity))) for capacity in capacities],
        [float(draw(st.integers(0, 52))) for _ in bed],
        Weather(rain, rng.uniform(-5.0, 30.0, shape), rng.uniform(0.0, 8.0, shape)),
        MIDNIGHT + timedelta(minutes=draw(st.integers(0, 24 * 60 - 1))),
    )


@given(case=cases())
def test_no_water_is_made_or_lost(case: Case) -> None:
    garden, now = case.garden, case.now
    futures = run(garden, case.weather, now=now, litres=case.litres, depletion_mm=case.depletion_mm)
    rain = case.weather.rain_mm.copy()
    rain[0] *= (MIDNIGHT + DAY - now) / DAY
    # A millimetre on a square metre is a litre; by default 0.3 mm wet a roof and 85 % run off it.
    into = sum(0.85 * roof.area * np.maximum(rain - 0.3, 0.0).sum(axis=0) for roof in garden.roof)
    out = futures.volume_l[-1].sum(axis=0) + (futures.given_l + futures.spilled_l).sum(axis=0)
    np.testing.assert_allclose(sum(case.litres) + into, out, rtol=0.0, atol=1e-6)


@given(case=cases())
def test_no_butt_is_drawn_below_its_tap_or_filled_over_its_rim(case: Case) -> None:
    futures = run(
        case.garden,
        case.weather,
        now=case.now,
        litres=case.litres,
        depletion_mm=case.depletion_mm,
    )
    for index, butt in enumerate(case.garden.butt):
        volume = futures.volume_l[:, index]
        assert (volume <= butt.capacity_l + 1e-9).all()
        assert (volume >= min(butt.dead_volume, case.litres[index]) - 1e-9).all()
    assert (futures.given_l <= futures.wanted_l + 1e-9).all()
    assert (futures.given_l >= 0.0).all()


def test_where_orders_bar_watering_nothing_is_given_until_they_end() -> None:
    garden = make_garden(roof=[])
    state = state_of(garden, MIDNIGHT, litres=[200.0], depletion_mm=[10.0])
    beds = crop_alone(4)
    # On the first two days; ET0 of 4 mm is drawn all the while, on 10 m².
    barred = replace(beds, barred=np.array([True, True, False, False]))
    futures = ahead(garden, state, steady(4, et0_mm=4.0), barred)
    assert futures.given_l[:, 0] == pytest.approx([0.0, 0.0, 120.0, 40.0])
    free = ahead(garden, state, steady(4, et0_mm=4.0), beds)
    assert free.given_l[:, 0] == pytest.approx([40.0] * 4)


def test_a_constant_demand_empties_a_butt_on_the_day_one_can_count() -> None:
    # 6 mm on 10 m² are 60 L an evening: 200, 140, 80, 20, 0.
    futures = run(make_garden(), steady(6, et0_mm=6.0))
    assert futures.wanted_l[:4, 0] == pytest.approx([60.0, 60.0, 60.0, 60.0])
    assert futures.given_l[:, 0] == pytest.approx([60.0, 60.0, 60.0, 20.0, 0.0, 0.0])
    assert futures.volume_l[:, 0, 0] == pytest.approx([140.0, 80.0, 20.0, 0.0, 0.0, 0.0])


@pytest.mark.parametrize(("factor", "wanted_l"), [(0.5, 30.0), (1.0, 60.0), (2.0, 120.0)])
def test_a_gardener_gives_as_freely_as_before(factor: float, wanted_l: float) -> None:
    garden = make_garden()
    state = replace(state_of(garden, MIDNIGHT), use_factor=factor)
    futures = ahead(garden, state, steady(1, et0_mm=6.0), crop_alone(1))
    assert futures.wanted_l[0, 0] == futures.given_l[0, 0] == pytest.approx(wanted_l)
    assert futures.volume_l[0, 0, 0] == pytest.approx(200.0 - wanted_l)


def test_what_a_bed_was_not_given_it_goes_on_lacking() -> None:
    garden = make_garden()
    state = replace(state_of(garden, MIDNIGHT), use_factor=0.5)
    futures = ahead(garden, state, steady(8, et0_mm=6.0), crop_alone(8))
    # 3 mm more are lacking each evening, and 6 more each day: on the fifth 12 + 6 mm. At 6 mm a day
    # 0.35 + 0.04 (5 - 6) of 52 mm can be spared (FAO-56, p. 162), which is 16.1 mm.
    assert futures.stressed[:, 0, 0].tolist() == [False] * 4 + [True] * 4


def test_a_moist_bed_asks_for_nothing() -> None:
    # 0.6 mm a day: what a bed lacks is given from the second day on, when it is more than 1 mm.
    futures = run(make_garden(), steady(3, et0_mm=0.6))
    assert futures.wanted_l[:, 0] == pytest.approx([0.0, 6.0, 6.0])


@pytest.mark.parametrize(
    ("depletion_mm", "et0_mm", "rain_mm", "wanted_mm"),
    [
        (0.0, 6.0, 0.0, 42.0),
        (10.0, 3.0, 0.0, 31.0),
        # Rain comes before the day's loss, and no soil is wetter than full.
        (10.0, 3.0, 2.0, 17.0),
        (10.0, 3.0, 50.0, 0.0),
        (0.0, 0.7, 0.0, 0.0),
        (0.0, 0.8, 0.0, 5.6),
    ],
)
def test_a_bed_wants_what_it_would_lack_after_a_week(
    depletion_mm: float, et0_mm: float, rain_mm: float, wanted_mm: float
) -> None:
    weather = steady(20, rain_mm=rain_mm, et0_mm=et0_mm)
    futures = run(make_garden(), weather, litres=[0.0], depletion_mm=[depletion_mm])
    # On 10 m²; less than 5 L/m² is not worth the way.
    assert futures.bed_wanted_l[0, 0] == pytest.approx(10.0 * wanted_mm)


def test_a_gardener_who_waits_gives_what_is_drawn_beyond_what_the_soil_yields() -> None:
    # At 4 mm a day 0.35 + 0.04 (5 - 4) of 52 mm are readily there (FAO-56, p. 162): 20.3 mm. He
    # waits until half of that is lacking: 4, 8, and on the third day 12 mm.
    garden = make_garden()
    state = replace(state_of(garden, MIDNIGHT), asks_share=0.5)
    futures = ahead(garden, state, steady(5, et0_mm=4.0), crop_alone(5))
    assert futures.wanted_l[:, 0] == pytest.approx([0.0, 0.0, 40.0, 40.0, 40.0])
    assert not futures.stressed.any()


def test_a_bed_where_nothing_grows_asks_for_nothing() -> None:
    garden, weather = make_garden(), steady(5, et0_mm=6.0)
    state = state_of(garden, MIDNIGHT, depletion_mm=[40.0])
    futures = ahead(garden, state, weather, crop_alone(5, grows=False))
    assert (futures.wanted_l == 0.0).all()
    assert not futures.stressed.any()


def test_a_gardener_who_goes_round_once_a_week_gives_what_was_drawn_since() -> None:
    garden = make_garden()
    state = replace(state_of(garden, MIDNIGHT), every_d=3)
    beds = crop_alone(8)
    # Watered yesterday evening: its turn comes on the third evening, with 3 x 2 mm on 10 m².
    futures = ahead(garden, state, steady(8, et0_mm=2.0), beds)
    assert futures.wanted_l[:, 0] == pytest.approx([0.0, 0.0, 60.0, 0.0, 0.0, 60.0, 0.0, 0.0])
    # This evening already: three days from now.
    (bed,) = state.beds
    tonight = replace(state, beds=(replace(bed, watered_d_ago=0),), watered_tonight_mm=(5.0,))
    futures = ahead(garden, tonight, steady(8, et0_mm=2.0), beds)
    # The 5 mm fill the soil tomorrow; then 2, 4 and 6 mm are lacking.
    assert futures.wanted_l[:, 0] == pytest.approx([0.0, 0.0, 0.0, 60.0, 0.0, 0.0, 60.0, 0.0])


def test_rain_makes_up_for_what_is_owed() -> None:
    weather = steady(4, et0_mm=4.0)
    weather.rain_mm[2] = 30.0
    garden = make_garden()
    state = replace(state_of(garden, MIDNIGHT), every_d=4)
    # Lacking 8 mm after two days, then the 4 mm of the day of the rain, and 8 on the next.
    assert ahead(garden, state, weather, crop_alone(4)).wanted_l[:, 0] == pytest.approx(
        [0.0, 0.0, 0.0, 80.0]
    )


def test_a_wet_surface_loses_what_the_crop_does_not_draw() -> None:
    beds = crop_alone(3)
    # Half of the ground is open, and wet soil loses up to 0.3 ET0 beside the 0.9 of the crop.
    wet = replace(beds, kcb=0.9 * beds.kcb, kc_max=1.2 * beds.kcb)
    garden = make_garden()
    futures = ahead(garden, state_of(garden, MIDNIGHT), steady(3, et0_mm=5.0), wet)
    # Kept wet by the water of each evening it loses it each day: 1.2 x 5 mm on 10 m².
    assert futures.wanted_l[:, 0] == pytest.approx([60.0, 60.0, 60.0])


def test_the_beds_with_most_to_lose_have_the_last_water() -> None:
    bed = [{"name": name, "area": "10 m2"} for name in ("one", "two", "three")]
    garden = make_garden(bed=bed)
    beds = crop_alone(2, 3)
    beds = replace(beds, claim=beds.claim * [1.0, 3.0, 2.0])
    state = state_of(garden, MIDNIGHT, litres=[90.0], depletion_mm=[10.0, 10.0, 10.0])
    futures = ahead(garden, state, steady(2, et0_mm=6.0), beds)
    # 60 L each are wanted: the second bed has them, the third 30 of them, the first none. On 52 mm
    # 0.31 can be spared (see above), 16.1 mm: on the next day 22 mm are lacking, 16 and 19.
    assert futures.given_l[:, 0] == pytest.approx([90.0, 0.0])
    assert futures.stressed[1, :, 0].tolist() == [True, False, True]


def test_members_differ_in_what_is_not_known() -> None:
    roof = {"name": "shed", "area": "10 m2", "into": "north", "wetting_loss": "0 mm"}
    garden = make_garden(roof=[roof])
    state = state_of(garden, MIDNIGHT)
    draws = Draws(np.array([[100.0, 150.0]]), np.array([[0.8, 0.9]]), np.array([1.0, 0.5]))
    weather = steady(1, 2, rain_mm=2.0, et0_mm=6.0)
    futures = run_futures(garden, state, weather, crop_alone(1), draws)
    # 2 mm on 10 m²; 6 - 2 mm are lacking, but the crop drew 6 and no more than 4 are given back.
    assert futures.volume_l[0, 0] == pytest.approx([100.0 + 16.0 - 60.0, 150.0 + 18.0 - 30.0])


def test_what_is_below_the_tap_cannot_be_given() -> None:
    garden = make_garden(butt=[{"name": "north", "litres": "200 L", "dead_volume": "30 L"}])
    futures = run(garden, steady(3, et0_mm=6.0), litres=[50.0])
    assert futures.given_l[:, 0] == pytest.approx([20.0, 0.0, 0.0])
    assert futures.volume_l[:, 0, 0] == pytest.approx([30.0, 30.0, 30.0])


def test_water_is_taken_from_the_butts_in_proportion() -> None:
    butt = [{"name": "north", "litres": "200 L"}, {"name": "south", "litres": "100 L"}]
    futures = run(make_garden(butt=butt), steady(1, et0_mm=6.0), litres=[90.0, 30.0])
    # 60 of 120 L: half of each.
    assert futures.volume_l[0, :, 0] == pytest.approx([45.0, 15.0])


@pytest.mark.parametrize(("hour", "given_l"), [(0, 60.0), (18, 60.0), (19, 0.0), (23, 0.0)])
def test_after_the_evening_round_nothing_is_given_today(hour: int, given_l: float) -> None:
    now = MIDNIGHT + timedelta(hours=hour, minutes=30)
    futures = run(make_garden(), steady(2, et0_mm=6.0), now=now)
    # What was not given is given the next evening as well.
    assert futures.given_l[:, 0] == pytest.approx([given_l, 120.0 - given_l])


def test_a_thirsty_bed_suffers_from_the_day_its_spare_water_is_used() -> None:
    # 16.1 mm to spare at 6 mm a day, see above: 6, 12, and on the third day 18.
    futures = run(make_garden(), steady(5, et0_mm=6.0), litres=[0.0])
    assert futures.stressed[:, 0, 0].tolist() == [False, False, True, True, True]


def test_rain_that_fell_today_is_in_the_butts_and_not_yet_in_the_beds() -> None:
    roof = {"name": "shed", "area": "10 m2", "into": "north", "runoff": 1.0, "wetting_loss": "0 mm"}
    garden = make_garden(roof=[roof])
    noon = MIDNIGHT + DAY / 2
    weather = steady(1, rain_mm=8.0, et0_mm=1.0)
    futures = run(garden, weather, now=noon, litres=[0.0], depletion_mm=[14.5], rain_today_mm=11.0)
    # Half of the member's 8 mm are still to come: 4 mm on 10 m² into the butt; 4 + 11 mm on the
    # bed, which then lacks no more than the day's loss of 1 mm and asks for nothing.
    assert futures.volume_l[0, 0, 0] == pytest.approx(40.0)
    assert futures.wanted_l[0, 0] == 0.0
    dry = run(garden, weather, now=noon, litres=[0.0], depletion_mm=[14.5])
    assert dry.wanted_l[0, 0] == pytest.approx(10.0)
    assert dry.bed_wanted_l[0, 0] == pytest.approx((14.5 - 4.0 + 1.0) * 10.0)


def test_water_overflows_and_is_told_in_the_order_of_the_file() -> None:
    butt = [
        {"name": "south", "litres": "100 L"},
        {"name": "north", "litres": "200 L", "overflow_to": "south"},
    ]
    roof = {"name": "shed", "area": "10 m2", "into": "north", "runoff": 1.0, "wetting_loss": "0 mm"}
    garden = make_garden(butt=butt, roof=[roof])
    futures = run(garden, steady(3, rain_mm=8.0), litres=[0.0, 150.0])
    # 80 L a day: 50 fill the north butt and 30 pass on; then 80, of which 10 run to the ground.
    assert futures.volume_l[:, :, 0] == pytest.approx(np.array([[30, 200], [100, 200], [100, 200]]))
    assert futures.spilled_l[:, 0] == pytest.approx([0.0, 10.0, 80.0])
    assert futures.full[:, :, 0].tolist() == [[False, True], [True, True], [True, True]]


@pytest.mark.parametrize(
    ("now", "share"),
    [
        (datetime(2031, 6, 1, 11, 0, tzinfo=UTC), 0.5),
        (datetime(2031, 5, 31, 23, 0, tzinfo=UTC), 1.0),
        # Noon of the day with 23 hours, and of the day with 25 hours.
        (datetime(2031, 3, 30, 11, 0, tzinfo=UTC), 12 / 23),
        (datetime(2031, 10, 26, 12, 0, tzinfo=UTC), 12 / 25),
    ],
)
def test_the_part_of_a_day_that_is_left(now: datetime, share: float) -> None:
    garden = make_garden(zone="Europe/London")
    assert share_of_today_left(garden, now) == pytest.approx(share)


# --- Vessels --------------------------------------------------------------------------------------


def ready_in(
    celsius: float,
    *,
    days: int = 60,
    now: datetime = MIDNIGHT,
    steeps: Sequence[SteepNow] | None = None,
) -> Array:
    garden = make_garden(vessel=[{"name": "nettle", "volume": "60 L"}])
    state = state_of(garden, now, steeps=steeps or [steep(celsius, began=now)])
    weather = steady(days, 3, mean_c=celsius)
    ready_in_d: Array = ahead(garden, state, weather, crop_alone(days)).ready_in_d[0]
    return ready_in_d


@pytest.mark.parametrize("hour", [0, 6.5, 12, 23.9])
def test_a_steep_is_ready_in_two_weeks_at_the_reference_temperature(hour: float) -> None:
    now = MIDNIGHT + timedelta(hours=hour)
    assert ready_in(17.0, now=now) == pytest.approx(np.full(3, 14.0))


def test_a_cool_steep_takes_longer() -> None:
    assert ready_in(10.0) == pytest.approx(np.full(3, 14 * RATE_17 / RATE_10), rel=1e-4)


@pytest.mark.parametrize("celsius", [30.0, 45.0])
def test_a_hot_steep_takes_ten_days_at_least(celsius: float) -> None:
    # By its age alone it would be ready after 14 x 1.84378 / 4.25928 = 6.1 days.
    assert ready_in(celsius) == pytest.approx(np.full(3, 10.0))


@pytest.mark.parametrize(
    ("began", "thermal_age_d", "expected"),
    [
        (MIDNIGHT - 9 * DAY, 9.0, 5.0),
        (MIDNIGHT - 30 * DAY, 13.5, 0.5),
        (MIDNIGHT - 30 * DAY, 14.0, 0.0),
        (MIDNIGHT - 400 * DAY, 300.0, 0.0),
        # Old enough by its warmth, and three days short by the calendar.
        (MIDNIGHT - 7 * DAY, 15.0, 3.0),
    ],
)
def test_a_steep_under_way_needs_the_rest(
    began: datetime, thermal_age_d: float, expected: float
) -> None:
    steeps = [steep(17.0, began=began, thermal_age_d=thermal_age_d)]
    assert ready_in(17.0, steeps=steeps) == pytest.approx(np.full(3, expected))


@pytest.mark.parametrize(("days", "expected"), [(13, np.inf), (15, 14.0), (60, 14.0)])
def test_beyond_the_horizon_nothing_is_said(days: int, expected: float) -> None:
    assert ready_in(17.0, days=days) == pytest.approx(np.full(3, expected))


def test_in_frost_a_steep_is_never_ready() -> None:
    assert np.isinf(ready_in(-3.0)).all()


def test_an_empty_vessel_is_never_ready() -> None:
    assert np.isinf(ready_in(17.0, steeps=[steep(17.0, began=None)])).all()


def test_ages_are_those_at_the_end_of_each_day() -> None:
    garden = make_garden(vessel=[{"name": "nettle", "volume": "60 L"}])
    noon = MIDNIGHT + DAY / 2
    state = state_of(garden, noon, steeps=[steep(17.0, began=noon - 3 * DAY, thermal_age_d=3.0)])
    futures = ahead(garden, state, steady(3), crop_alone(3))
    assert futures.age_d[:, 0, 0] == pytest.approx([3.5, 4.5, 5.5])


def test_a_jacketed_vessel_keeps_its_warmth_longer() -> None:
    vessel = [
        {"name": "bare", "volume": "60 L"},
        {"name": "jacketed", "volume": "60 L", "insulation": "jacketed"},
    ]
    garden = make_garden(vessel=vessel)
    state = state_of(garden, MIDNIGHT, steeps=[steep(25.0), steep(25.0)])
    ages = ahead(garden, state, steady(5, mean_c=5.0), crop_alone(5)).age_d[:, :, 0]
    assert (ages[:, 1] > ages[:, 0]).all()
    assert (np.diff(ages, axis=0) > 0.0).all()


def test_members_have_their_own_weather() -> None:
    garden = make_garden(vessel=[{"name": "nettle", "volume": "60 L"}])
    shape = (60, 3)
    mean_c = np.broadcast_to([10.0, 17.0, 17.0], shape)
    weather = Weather(np.zeros(shape), mean_c, np.broadcast_to([0.0, 0.0, 6.0], shape))
    state = state_of(garden, MIDNIGHT, steeps=[steep(17.0)])
    futures = ahead(garden, state, weather, crop_alone(60))
    assert futures.ready_in_d[0, 1] == pytest.approx(14.0)
    assert futures.ready_in_d[0, 0] > 20.0
    # What dries the beds is sun, which warms the vessel too.
    assert 10.0 < futures.ready_in_d[0, 2] < 14.0
    assert futures.wanted_l[0] == pytest.approx([0.0, 0.0, 60.0])


def test_a_garden_may_have_neither_vessel_nor_butt() -> None:
    futures = run(make_garden(), steady(4, 2))
    assert futures.age_d.shape[1] == futures.ready_in_d.shape[0] == 0
    garden = make_garden(butt=[], vessel=[{"name": "nettle", "volume": "60 L"}])
    state = state_of(garden, MIDNIGHT, litres=[], steeps=[steep(17.0)])
    futures = ahead(garden, state, steady(4, 2, et0_mm=6.0), crop_alone(4))
    assert futures.volume_l.shape == (4, 0, 2)
    assert (futures.given_l == 0.0).all()
