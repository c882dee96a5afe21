"""Which bed gets which feed, when, how thin, and from what."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.gardens import make_garden, state_of, told_by_age

from steepwell.decide.feeding import share_feed
from steepwell.outlook.state import State, SteepNow
from steepwell.store.entries import Fed, LooksHungry

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.decide.feed_due import Unfed
    from steepwell.decide.feeding import Feed
    from steepwell.garden.garden import Garden
    from steepwell.store.entries import Entry

NOW = datetime(2031, 7, 15, 5, 30, tzinfo=UTC)
TODAY = date(2031, 7, 15)
DAY = timedelta(days=1)
PLANTED = {"tomato": "05-20", "potato": "05-20", "cabbage": "06-01", "carrot": "04-01"}


def garden_of(*crops: str, can_l: float = 9.0, planted: str | None = None) -> Garden:
    """Return a garden with a bed for each crop, named after it."""
    bed = [
        {
            "name": crop,
            "area": "3 m2",
            "crops": [{"crop": crop, "planted": planted or PLANTED[crop], "cleared": "10-31"}],
        }
        for crop in crops
    ]
    return make_garden(bed=bed, can={"size": f"{can_l} L"})


def steep(
    *plants: str, name: str = "", age_d: float = 20.0, thermal_d: float = 20.0, litres: float = 50.0
) -> SteepNow:
    """Return a steep that is ready, in a vessel with the name of its first plant."""
    return SteepNow(
        name or plants[0], 18.0, NOW - age_d * DAY, thermal_d, litres, 0.0, tuple(plants)
    )


def shared(
    garden: Garden,
    *steeps: SteepNow,
    entries: Sequence[Entry] = (),
    watered: Sequence[str] | None = None,
    spare_l: float = 0.0,
    depletion_mm: float = 5.0,
) -> tuple[list[Feed], list[Unfed]]:
    names = [bed.name for bed in garden.bed]
    dryness = [depletion_mm for _ in names]
    state = state_of(garden, NOW, depletion_mm=dryness, steeps=steeps)
    given = names if watered is None else watered
    evenings = dict.fromkeys(given, ())
    return share_feed(garden, state, entries, watered=evenings, spare_l=spare_l)


def fed_from(garden: Garden, *steeps: SteepNow) -> str | None:
    """Return the vessel a garden of one bed is fed from."""
    fed, unfed = shared(garden, *steeps)
    assert len(fed) + len(unfed) == 1
    assert all(line.reason for line in fed)
    assert all(line.reason for line in unfed)
    return fed[0].vessel if fed else None


OWN, FAMILY, ANY, OTHER = steep("tomato"), steep("potato"), steep("nettle"), steep("leek")


@pytest.mark.parametrize(
    ("steeps", "vessel"),
    [
        # Potatoes are of the tomato's family, leeks are not, and nettles grow in no bed.
        ((OTHER, ANY, FAMILY, OWN), "tomato"),
        ((OWN, FAMILY, ANY, OTHER), "tomato"),
        ((OTHER, ANY, FAMILY), "potato"),
        ((OTHER, ANY), "nettle"),
        ((OTHER,), None),
        ((), None),
        # Two families in one vessel are neither the bed's own nor for any.
        ((steep("tomato", "potato"),), "tomato"),
        ((steep("tomato", "leek"),), None),
        ((steep("nettle", "comfrey"),), "nettle"),
        ((steep("nettle", "leek"),), None),
    ],
)
def test_its_own_crop_comes_before_its_family(
    steeps: tuple[SteepNow, ...], vessel: str | None
) -> None:
    assert fed_from(garden_of("tomato"), *steeps) == vessel


def test_a_plant_that_no_table_knows_feeds_no_bed() -> None:
    garden = garden_of("tomato")
    assert fed_from(garden, steep("moon-flower")) is None
    assert fed_from(garden, steep("moon-flower"), ANY) == "nettle"
    assert fed_from(garden, steep("tomato", "moon-flower")) is None


@pytest.mark.parametrize(
    ("steeps", "hungry", "only_due"),
    [
        ((ANY,), False, True),
        ((ANY,), True, False),
        ((OWN,), False, False),
        ((FAMILY,), False, False),
    ],
)
def test_a_feed_that_is_only_due_is_marked(
    steeps: tuple[SteepNow, ...], *, hungry: bool, only_due: bool
) -> None:
    entries = (LooksHungry(at=NOW - DAY, bed="tomato"),) if hungry else ()
    ((line,), _) = shared(garden_of("tomato"), *steeps, entries=entries)
    assert line.only_due is only_due


@pytest.mark.parametrize(
    ("age_d", "thermal_d", "ready"),
    [
        # Two weeks at 17 °C, and ten days at least: common practice, no source.
        (20.0, 14.0, True),
        (20.0, 13.9, False),
        (10.0, 15.0, True),
        (9.9, 15.0, False),
    ],
)
def test_no_feed_comes_from_a_vessel_that_is_not_ready(
    age_d: float, thermal_d: float, *, ready: bool
) -> None:
    vessel = fed_from(garden_of("tomato"), steep("tomato", age_d=age_d, thermal_d=thermal_d))
    assert (vessel is not None) == ready


def test_no_feed_comes_from_an_empty_vessel() -> None:
    garden = garden_of("tomato")
    assert fed_from(garden, SteepNow("tomato", 18.0, None, 0.0, 0.0, 0.0, ())) is None
    assert fed_from(garden, steep("tomato", litres=0.0)) is None
    # Parts of 1:60 for a 9 L can are 9/61 L, 148 mL.
    assert fed_from(garden, steep("tomato", litres=0.10)) is None
    assert fed_from(garden, steep("tomato", litres=0.15)) == "tomato"


def test_what_one_bed_takes_is_gone_for_the_next() -> None:
    garden = garden_of("tomato", "potato")
    both, _ = shared(garden, steep("nettle", litres=0.30))
    assert [feed.bed for feed in both] == ["tomato", "potato"]
    # Each takes 140 mL, as a jug has a mark for of 9/61 L.
    one, unfed = shared(garden, steep("nettle", litres=0.27))
    assert [feed.bed for feed in one] == ["tomato"]
    assert [line.bed for line in unfed] == ["potato"]


@pytest.mark.parametrize(
    ("crop", "age_d", "due"),
    [
        # Feeding of the crop table, common practice: tomatoes from day 28 to day 120, cabbages
        # from day 21 to day 63, carrots never.
        ("tomato", 21, False),
        ("tomato", 22, True),
        ("tomato", 28, True),
        ("tomato", 120, True),
        ("tomato", 121, False),
        ("cabbage", 14, False),
        ("cabbage", 15, True),
        ("cabbage", 63, True),
        ("cabbage", 64, False),
        ("carrot", 40, False),
    ],
)
def test_a_bed_is_fed_within_its_window_if_that_is_open_this_week(
    crop: str, age_d: int, *, due: bool
) -> None:
    planted = TODAY - age_d * DAY
    garden = garden_of(crop, planted=f"{planted:%m-%d}")
    assert (fed_from(garden, steep("nettle")) is not None) == due


def fed_on(days_ago: float, bed: str = "tomato") -> Fed:
    return Fed(at=NOW - days_ago * DAY, bed=bed, vessel="nettle", feed_ml=30.0, cans=1.0)


@pytest.mark.parametrize(
    ("entries", "due"),
    [
        # Tomatoes every 14 days: common practice, no source.
        ((fed_on(7),), False),
        ((fed_on(8),), True),
        ((fed_on(14),), True),
        ((fed_on(30), fed_on(3)), False),
        ((fed_on(3), fed_on(30)), False),
        ((fed_on(3, bed="other"),), True),
        ((), True),
    ],
)
def test_a_bed_is_not_fed_again_too_soon(entries: tuple[Fed, ...], *, due: bool) -> None:
    fed, unfed = shared(garden_of("tomato"), ANY, entries=entries)
    assert bool(fed) == due
    assert bool(unfed) == (not due)


def test_a_bed_in_which_nothing_stands_is_not_spoken_of() -> None:
    garden = garden_of("tomato", planted="08-01")
    assert shared(garden, OWN, ANY) == ([], [])


@pytest.mark.parametrize(
    ("watered", "spare_l", "depletion_mm", "fed"),
    [
        # On a bed that is watered, feed is part of its water.
        (["tomato"], 0.0, 40.0, True),
        # On another one a can of 9 L comes out of what is left, and dry soil gets none: 18.2 mm
        # can be spared.
        ([], 9.0, 5.0, True),
        ([], 8.9, 5.0, False),
        ([], 90.0, 18.3, False),
        ([], 90.0, 18.2, True),
    ],
)
def test_feed_never_goes_on_dry_soil(
    watered: list[str], spare_l: float, depletion_mm: float, *, fed: bool
) -> None:
    lines, unfed = shared(
        garden_of("tomato"), OWN, watered=watered, spare_l=spare_l, depletion_mm=depletion_mm
    )
    assert bool(lines) == fed
    assert len(unfed) == (not fed)


def test_spare_water_is_spent_once() -> None:
    garden = garden_of("tomato", "potato")
    fed, unfed = shared(garden, ANY, watered=[], spare_l=17.0)
    assert [line.bed for line in fed] == ["tomato"]
    assert [line.bed for line in unfed] == ["potato"]


def test_beds_are_fed_where_the_weather_is_not_known() -> None:
    garden = garden_of("tomato")
    butts = state_of(garden, NOW).butts
    state = State(NOW, TODAY, 0.0, (0.0,), (0.0,), butts, (), (told_by_age(OWN, NOW),))
    fed, _ = share_feed(garden, state, [], watered={}, spare_l=9.0)
    assert [line.vessel for line in fed] == ["tomato"]


@pytest.mark.parametrize(
    ("age_d", "thermal_d", "parts"),
    [
        # 30 (1 - exp(-age/1000)) / (1 - exp(-0.014)) of the older of both ages, and the next rung:
        # 30.0, 42.7, 63.8, 125.7, 391 and, held from there on, 500 (common practice).
        (14.0, 14.0, 30),
        (14.0, 20.0, 60),
        (30.0, 20.0, 100),
        (60.0, 45.0, 150),
        (90.0, 200.0, 400),
        (365.0, 300.0, 500),
        (800.0, 600.0, 500),
    ],
)
def test_the_feed_is_as_thin_as_the_older_of_its_ages_asks(
    age_d: float, thermal_d: float, parts: int
) -> None:
    fed, _ = shared(garden_of("tomato"), steep("tomato", age_d=age_d, thermal_d=thermal_d))
    assert [line.dilution_parts for line in fed] == [parts]
    assert [line.day for line in fed] == [TODAY]


@given(age_d=st.floats(10.0, 800.0), thermal_d=st.floats(14.0, 600.0), can_l=st.floats(3.0, 20.0))
def test_a_dose_is_never_stronger_than_its_rung_and_at_most_a_fifth_weaker(
    age_d: float, thermal_d: float, can_l: float
) -> None:
    garden = garden_of("tomato", can_l=round(can_l, 1))
    fed, _ = shared(garden, steep("tomato", age_d=age_d, thermal_d=thermal_d))
    (line,) = fed
    # One part in 1 + D parts; a level spoon is not truer than a hundredth.
    exact_ml = 1000.0 * line.dose.cans * garden.can.size / (1.0 + line.dilution_parts)
    assert 0.8 * exact_ml <= line.dose.feed_ml + 1e-9 <= 1.01 * exact_ml + 2e-9


def test_every_bed_is_told_of_once_in_the_order_of_the_file() -> None:
    garden = garden_of("tomato", "cabbage", "carrot", "potato")
    fed, unfed = shared(garden, OWN)
    assert [line.bed for line in fed] == ["tomato", "potato"]
    assert [line.bed for line in unfed] == ["cabbage", "carrot"]
