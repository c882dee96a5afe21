from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

import pytest

from steepwell.tell.documents import Plan
from steepwell.tell.subject import LONGEST_SUBJECT, letter_subject

if TYPE_CHECKING:
    from collections.abc import Callable

Json = dict[str, Any]
TODAY = date(2031, 6, 6)
NEVER = {"p10": None, "p50": None, "p90": None}


def the_subject(plan: Json, *, dry: bool = False, tap: bool = True, first: bool = False) -> str:
    return letter_subject(Plan.model_validate(plan), TODAY, dry=dry, tap=tap, first=first)


@pytest.mark.parametrize(
    ("changes", "subject"),
    [
        ({}, "Water to about 22 July. Soak beans, feed leeks"),
        (
            {"lasts_to": NEVER},
            "No dry day in sight. Soak beans, feed leeks, fill the comfrey vessel",
        ),
        (
            {"lasts_to": {"p10": "2031-07-18", "p50": None, "p90": None}},
            "Water to 18 July or longer. Soak beans, feed leeks",
        ),
        ({"feed": []}, "Water to about 22 July. Soak beans, fill the comfrey vessel"),
        ({"water": []}, "Water to about 22 July. Feed leeks, fill the comfrey vessel"),
        (
            {"water": [], "feed": [], "vessels": []},
            "Water to about 22 July. Nothing to do now",
        ),
        (
            {"lasts_to": {"p10": "2031-06-06", "p50": "2031-06-06", "p90": "2031-06-09"}},
            "Water is short. Soak beans, feed leeks, fill the comfrey vessel",
        ),
    ],
)
def test_the_subject_says_how_long_and_what_to_do(
    plan: Callable[..., Json], changes: Json, subject: str
) -> None:
    assert the_subject(plan(**changes)) == subject


def test_dry_butts_come_before_any_date(plan: Callable[..., Json]) -> None:
    assert the_subject(plan(), dry=True).startswith("The butts are dry. Soak beans, feed leeks")


@pytest.mark.parametrize(
    ("tap", "subject"),
    [
        (True, "The butts are dry. Water from the tap what wilts"),
        (False, "The butts are dry. Nothing to do until it rains"),
    ],
)
def test_dry_butts_leave_the_tap_if_there_is_one(
    plan: Callable[..., Json], water: Callable[..., Json], subject: str, *, tap: bool
) -> None:
    nothing = [water(cans=0, litres=0, days=[], **{"from": None})]
    idle = plan(water=nothing, feed=[], vessels=[])
    assert the_subject(idle, dry=True, tap=tap) == subject


def test_without_an_outlook_no_date_is_promised(plan: Callable[..., Json]) -> None:
    subject = the_subject(plan(lasts_to=None))
    assert subject.startswith("Your garden this week. Soak beans, feed leeks")
    first = the_subject(plan(lasts_to=None), first=True)
    assert first.startswith("Your first week. Soak beans, feed leeks")


def test_a_first_week_that_knows_the_date_tells_it(plan: Callable[..., Json]) -> None:
    assert the_subject(plan(), first=True).startswith("Water to about 22 July")


def test_many_beds_are_counted(plan: Callable[..., Json], water: Callable[..., Json]) -> None:
    lines = [water(bed=bed) for bed in ("beans", "courgettes", "sweet-corn")]
    assert "Soak beans and 2 more, feed leeks" in the_subject(plan(water=lines))


def test_pots_alone_are_no_soaking(plan: Callable[..., Json], water: Callable[..., Json]) -> None:
    lines = [water(bed="seedlings", daily_l=2, cans=0)]
    subject = the_subject(plan(water=lines, feed=[], vessels=[]))
    assert subject == "Water to about 22 July. Water trays and pots"


def test_the_subject_fits_a_phone(plan: Callable[..., Json], water: Callable[..., Json]) -> None:
    lines = [water(bed=f"a-bed-with-a-long-name-{number}") for number in range(2)]
    vessels = [{**plan()["vessels"][0], "name": "another-long-name"}]
    subject = the_subject(plan(water=lines, vessels=vessels))
    assert "vessel" not in subject
    assert subject.startswith("Water to about 22 July. Soak ")
    assert len(the_subject(plan(vessels=vessels))) <= LONGEST_SUBJECT
