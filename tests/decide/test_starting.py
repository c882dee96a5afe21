"""Which feed is begun when, of what, in which vessel; and how long before it is wanted."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from tests.gardens import flat_record, make_garden, state_of

from steepwell.decide.lead import ages_d, last_day, leads_d
from steepwell.decide.start_words import matter_for, why_in_short, why_then
from steepwell.decide.starting import Start, reserve, start_plan
from steepwell.outlook.record import read_record
from steepwell.outlook.state import SteepNow

if TYPE_CHECKING:
    from pathlib import Path

    from steepwell.garden.garden import Garden

Json = dict[str, Any]
NOW = datetime(2031, 2, 1, 5, 30, tzinfo=UTC)
JULY = date(2031, 7, 1)
# So early that no wild plant grows when its feed is to be begun.
EARLY = "02-20"
GARDEN = make_garden(vessel=[{"name": "one", "volume": "60 L"}])
(VESSEL,) = GARDEN.vessel


def garden_of(*crops: str, vessels: tuple[str, ...] = ("one",), planted: str = "05-01") -> Garden:
    bed = [
        {
            "name": f"{crop}-bed",
            "area": "3 m2",
            "crops": [{"crop": crop, "planted": planted, "cleared": "09-30"}],
        }
        for crop in crops
    ]
    return make_garden(bed=bed, vessel=[{"name": name, "volume": "60 L"} for name in vessels])


def starts(garden: Garden, *steeps: SteepNow, mean_c: float = 17.0) -> list[Start]:
    held = {steep.vessel: steep for steep in steeps}
    nows = [held.get(v.name, SteepNow(v.name, 5.0, None, 0.0, 0.0, 0.0, ())) for v in garden.vessel]
    state = state_of(garden, NOW, depletion_mm=[0.0] * len(garden.bed), steeps=nows)
    return start_plan(garden, state, flat_record(tmin_c=mean_c, tmax_c=mean_c), [])


@pytest.mark.parametrize(
    ("mean_c", "lead_d"),
    [
        # 14 days at 17 °C, where the rate is exp(308.56 (1/56.02 - 1/63.02)) = 1.844 times that at
        # 10 °C (Lloyd and Taylor 1994, eq. 11): 25.8 days there. Never less than ten days (common
        # practice).
        (17.0, 14),
        (10.0, 26),
        (28.0, 10),
    ],
)
def test_how_long_before_it_is_wanted(mean_c: float, lead_d: int) -> None:
    record = flat_record(tmin_c=mean_c, tmax_c=mean_c)
    assert set(leads_d(record, ages_d(GARDEN, record, VESSEL), date(2031, 7, 1)).tolist()) == {
        lead_d
    }
    assert last_day(GARDEN, record, VESSEL, date(2031, 7, 1)) == date(2031, 7, 1) - timedelta(
        lead_d
    )


@pytest.mark.parametrize(("ready_after", "lead_d"), [("21 d", 21), ("7 d", 7)])
def test_an_owner_may_know_better_when_it_is_ready(ready_after: str, lead_d: int) -> None:
    own = [{"name": "one", "volume": "60 L", "ready_after": ready_after}]
    garden = make_garden(vessel=own)
    record = flat_record(tmin_c=17.0, tmax_c=17.0)
    assert last_day(garden, record, garden.vessel[0], date(2031, 7, 1)) == date(
        2031, 7, 1
    ) - timedelta(lead_d)


def test_a_short_record_says_nothing_of_it() -> None:
    record = flat_record(date(2005, 1, 1), date(2010, 12, 31))
    assert last_day(GARDEN, record, VESSEL, JULY) is None


def test_a_year_that_the_record_lacks_says_nothing() -> None:
    record = flat_record(tmin_c=17.0, tmax_c=17.0)
    begin, end = ((date(year, 1, 1) - record.first).days for year in (2005, 2006))
    record.tmin_c[begin:end] = np.nan
    leads = leads_d(record, ages_d(GARDEN, record, VESSEL), JULY)
    # Of 2000 nothing reaches back a year; 2005 is lacking; a fortnight at 17 °C all the same.
    assert leads.tolist() == [14] * 9


def test_the_sun_on_a_vessel_counts() -> None:
    # Of equal means a day with a wide range is a sunny one (FAO-56 eq. 50), and bare plastic in the
    # sun is warmer than the air; nothing is known of a jacket that makes it colder.
    dull, sunny = (flat_record(tmin_c=12.0 - half, tmax_c=12.0 + half) for half in (0.0, 8.0))
    first, later = (last_day(GARDEN, record, VESSEL, JULY) for record in (dull, sunny))
    assert first is not None
    assert later is not None
    assert first < later


@pytest.mark.parametrize("place", ["brussels", "cambridge"])
def test_the_last_day_is_early_enough_in_nine_years_of_ten(
    record_paths: dict[str, Path], place: str
) -> None:
    record = read_record(record_paths[place])
    ages = ages_d(GARDEN, record, VESSEL)
    in_time = []
    for month in range(3, 11):
        for day in (1, 15):
            leads = leads_d(record, ages, date(2031, month, day))
            # Each year by what the others say.
            for year in range(len(leads)):
                others = np.delete(leads, year)
                advised = np.quantile(others, 0.9, method="inverted_cdf")
                in_time.append(leads[year] <= advised)
    assert 0.85 <= np.mean(in_time) <= 0.95


def test_the_earlier_of_two_days_binds() -> None:
    # Tomatoes of 1 May are fed from day 28 (crop table): 29 May, less 14 days.
    (start,) = starts(garden_of("tomato"))
    assert (start.vessel, start.by, start.last) == ("one", date(2031, 5, 15), date(2031, 5, 15))
    assert start.wanted.cleared == date(2031, 9, 30)
    assert not start.on_clearing
    assert "the last day that has it ready in nine years of ten" in why_then(start)
    assert why_in_short(start) == "later is too late"


@pytest.mark.parametrize(
    ("planted", "wild"),
    # Fed from day 28, of feed begun a fortnight before that; they have leaves to spare from
    # mid-season on, after 30 and 40 days (FAO-56, table 11, p. 106). Wild plants are cut from April
    # to October (common practice, no source).
    [("05-01", True), ("02-20", False), ("03-20", True), ("10-20", False)],
)
def test_what_is_not_grown_yet_is_not_asked_for(planted: str, *, wild: bool) -> None:
    bed = {
        "name": "tomato-bed",
        "area": "3 m2",
        "crops": [{"crop": "tomato", "planted": planted, "cleared": "12-31"}],
    }
    (start,) = starts(make_garden(bed=[bed], vessel=[{"name": "one", "volume": "60 L"}]))
    assert start.wild is wild, start.by
    assert ("nettles or comfrey" in matter_for(start)) is wild


@pytest.mark.parametrize(
    ("mean_c", "weeks"),
    # 14 days at 17 °C; at 5 °C, where the rate is 0.58287/1.844 of that, 44.3 days (Lloyd and
    # Taylor 1994, eq. 11), begun weeks counted whole.
    [(17.0, "2 weeks later"), (5.0, "7 weeks later")],
)
def test_the_wait_is_told_in_weeks(mean_c: float, weeks: str) -> None:
    (start,) = starts(garden_of("tomato"), mean_c=mean_c)
    assert weeks in why_then(start)


def test_one_wild_feed_is_enough() -> None:
    # By 15 May neither has leaves; a feed of nettles suits any bed (common practice, no source).
    garden = garden_of("tomato", "cabbage", vessels=("one", "two", "three"))
    assert [start.wild for start in starts(garden)] == [True]
    nettles = SteepNow("one", 5.0, NOW - timedelta(days=9), 60.0, 40.0, 0.0, ("nettle",))
    assert starts(garden, nettles) == []


def test_a_short_bed_fills_a_vessel_in_part_and_nothing_else_is_thrown_in() -> None:
    # 3 m2 give 3 buckets (from memory) where the vessel wants 5.4.
    (start,) = starts(garden_of("tomato"))
    cleared = replace(start, by=start.wanted.cleared)
    said = why_then(cleared)
    assert "gives about 3 buckets, so fill it in part" in said
    assert "weeds" not in said
    assert "fill it in part, with less water" in why_in_short(cleared)


def test_what_a_year_takes_follows_the_ladder_of_the_vessel() -> None:
    garden = garden_of("tomato")
    thin = make_garden(
        bed=[
            {
                "name": "tomato-bed",
                "area": "3 m2",
                "crops": [{"crop": "tomato", "planted": "05-01", "cleared": "09-30"}],
            }
        ],
        vessel=[{"name": "one", "volume": "60 L", "ladder": [1000]}],
    )
    (usual,), (thinner,) = starts(garden), starts(thin)
    feeds = len(thinner.wanted.feeds)
    # A can of 9 L at 1:1000 takes 9/1001 L.
    assert thinner.litres == pytest.approx(feeds * garden.can.size / 1001)
    assert thinner.litres < usual.litres


def test_what_steeps_already_is_not_begun_again() -> None:
    garden = garden_of("tomato", "leek", vessels=("one", "two"))
    held = SteepNow("one", 5.0, NOW - timedelta(days=100), 60.0, 40.0, 0.0, ("potato",))
    assert [start.wanted.name for start in starts(garden, held)] == ["leek"]


def test_crops_share_a_feed_where_vessels_are_few_and_that_is_said() -> None:
    own = starts(garden_of("leek", "onion", vessels=("one", "leek"), planted=EARLY))
    assert {start.wanted.name: start.vessel for start in own} == {"leek": "leek", "onion": "one"}
    # What is wanted first does not take the vessel that is named after another one.
    two = starts(garden_of("tomato", "leek", vessels=("leek", "one"), planted=EARLY))
    assert {start.wanted.name: start.vessel for start in two} == {"tomato": "one", "leek": "leek"}
    (start,) = starts(garden_of("leek", "onion", planted=EARLY))
    assert start.wanted.crops == ("leek", "onion")
    assert "untested" in why_then(start)
    assert not any("untested" in why_then(each) for each in own)


def test_a_bucket_is_enough_for_a_few_beds() -> None:
    # A can of 9 L takes at most 9/31 L of feed; tomatoes of a bed have seven of them.
    (start,) = starts(garden_of("tomato"))
    assert 0.0 < start.litres < 7 * 9 / 31
    assert start.size_l == 10.0
    assert (start.rainwater_l, start.buckets) == (54.0, 5.4)


def test_without_a_free_vessel_it_is_still_told() -> None:
    told = starts(garden_of("tomato", "leek", "cabbage", planted=EARLY))
    assert [start.vessel for start in told].count(None) == 2


def test_the_reserve_is_what_is_above_the_solids() -> None:
    garden = garden_of("leek", vessels=("one", "two", "three"))
    old = SteepNow("one", 9.0, NOW - timedelta(days=400), 300.0, 30.0, 0.0, ("leek",), 12.0)
    weeds = SteepNow("two", 9.0, NOW - timedelta(days=60), 20.0, 20.0, 0.0, ("nettle",))
    young = SteepNow("three", 9.0, NOW - timedelta(days=5), 2.0, 50.0, 0.0, ("leek",))
    state = state_of(garden, NOW, depletion_mm=[0.0], steeps=[old, weeds, young])
    kept = {each.vessel: each for each in reserve(garden, state)}
    assert set(kept) == {"one", "two"}
    # 18 L at 1:500 are 18 x 501 / 9 = 1002 cans.
    assert (kept["one"].litres, kept["one"].dilution_parts, kept["one"].cans) == (18.0, 500, 1002)
    assert kept["one"].families == ("onion family",)
    assert kept["two"].families == ()
