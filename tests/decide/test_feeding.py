"""Which bed is fed from which vessel, and which is left out."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from tests.gardens import make_garden, state_of

from steepwell.decide.feeding import share_feed
from steepwell.outlook.state import SteepNow

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden

NOW = datetime(2031, 6, 20, 6, 30, tzinfo=UTC)
DRY_MM = 30.0  # beds of these gardens have 18.2 mm to spare


def the_garden(*crops: tuple[str, str]) -> Garden:
    """Return a garden with a bed for each crop and the day it was planted."""
    bed = [
        {"name": f"{crop}-bed", "area": "2 m2", "crops": [{"crop": crop, "planted": planted}]}
        for crop, planted in crops
    ]
    return make_garden(bed=bed, vessel=[{"name": "any", "volume": "60 L"}], can={"size": "10 L"})


def steep(*plants: str, age_d: float = 30.0) -> SteepNow:
    return SteepNow("any", 17.0, NOW - timedelta(days=age_d), age_d, 54.0, 0.0, plants)


def share(
    garden: Garden,
    *steeps: SteepNow,
    watered: tuple[str, ...] = (),
    spare_l: float = 100.0,
    depletion_mm: float = 0.0,
) -> tuple[dict[str, str], dict[str, str]]:
    """Return the reasons of the beds fed and of those left out."""
    state = state_of(garden, NOW, steeps=steeps, depletion_mm=[depletion_mm] * len(garden.bed))
    fed, unfed = share_feed(garden, state, [], watered=watered, spare_l=spare_l)
    return {line.bed: line.reason for line in fed}, {line.bed: line.reason for line in unfed}


@pytest.mark.parametrize(
    ("plants", "reason"),
    [
        (("tomato",), "due, and the any feed was made of its own crop"),
        (("pepper",), "due, and the any feed is of its own family, the potato family"),
        (("nettle",), "due, and the any feed suits any bed"),
        (("nettle", "comfrey"), "due, and the any feed suits any bed"),
    ],
)
def test_feed_of_crop_family_or_weeds_will_do(plants: tuple[str, ...], reason: str) -> None:
    fed, unfed = share(the_garden(("tomato", "05-10")), steep(*plants))
    assert (fed, unfed) == ({"tomato-bed": reason}, {})


@pytest.mark.parametrize(
    "plants", [("leek",), ("tomato", "leek"), ("nettle", "leek"), ("oddment",)]
)
def test_feed_of_another_family_or_of_unknown_plants_will_not(plants: tuple[str, ...]) -> None:
    fed, unfed = share(the_garden(("tomato", "05-10")), steep(*plants))
    assert (fed, unfed) == ({}, {"tomato-bed": "no feed that suits it is ready"})


@pytest.mark.parametrize(
    ("ready", "vessel"),
    [
        (("nettle", "pepper", "tomato"), "tomato"),
        (("nettle", "pepper"), "pepper"),
        (("nettle",), "nettle"),
    ],
)
def test_own_crop_comes_before_family_before_weeds(ready: tuple[str, ...], vessel: str) -> None:
    bed = {"name": "all", "area": "2 m2", "crops": [{"crop": "tomato", "planted": "05-10"}]}
    garden = make_garden(bed=[bed], vessel=[{"name": name, "volume": "60 L"} for name in ready])
    begun = NOW - timedelta(days=30)
    steeps = [SteepNow(name, 17.0, begun, 30.0, 54.0, 0.0, (name,)) for name in ready]
    state = state_of(garden, NOW, steeps=steeps)
    (feed,), _ = share_feed(garden, state, [], watered=(), spare_l=100.0)
    assert feed.vessel == vessel


@pytest.mark.parametrize(
    ("depletion_mm", "spare_l", "watered", "left_out"),
    [
        (0.0, 10.0, (), None),
        (0.0, 9.9, (), "due, but there is no rainwater to spare for a can of feed"),
        (DRY_MM, 100.0, (), "due, but feed does not go on dry soil, and there is no water for it"),
        (DRY_MM, 0.0, ("tomato-bed",), None),
    ],
)
def test_feed_goes_on_moist_soil_and_takes_a_can_of_rainwater(
    depletion_mm: float, spare_l: float, watered: tuple[str, ...], left_out: str | None
) -> None:
    garden = the_garden(("tomato", "05-10"))
    fed, unfed = share(
        garden, steep("tomato"), watered=watered, spare_l=spare_l, depletion_mm=depletion_mm
    )
    assert unfed.get("tomato-bed") == left_out
    assert bool(fed) == (left_out is None)


def test_the_last_spare_can_is_given_once() -> None:
    garden = the_garden(("tomato", "05-10"), ("pepper", "05-10"))
    fed, unfed = share(garden, steep("tomato"), spare_l=15.0)
    assert (list(fed), list(unfed)) == (["tomato-bed"], ["pepper-bed"])


@pytest.mark.parametrize(
    ("crop", "planted", "reason"),
    [
        ("runner-bean", "06-01", "too young: first feed from 13 July"),
        ("broad-bean", "05-20", "broad bean is never fed"),
        ("spinach", "04-20", "past the time when feeding helps"),
    ],
)
def test_a_bed_that_is_not_due_is_told_why(crop: str, planted: str, reason: str) -> None:
    _, unfed = share(the_garden((crop, planted)), steep("nettle"))
    assert unfed == {f"{crop}-bed": reason}
