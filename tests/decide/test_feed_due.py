"""When beds are due: windows, intervals, pickings, hunger, cold, and the gardener's own days."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest
from tests.gardens import make_garden

from steepwell.decide.feed_due import Due, feed_days, who_is_due
from steepwell.store.entries import Fed, LooksHungry, Mulched, Picking, Planted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.garden.garden import Garden
    from steepwell.store.entries import Entry

Json = dict[str, Any]
# A Tuesday.
NOW = datetime(2031, 7, 15, 5, 30, tzinfo=UTC)
TODAY = date(2031, 7, 15)
DAY = timedelta(days=1)


def garden_of(
    crop: str = "tomato",
    *,
    age_d: int = 50,
    left_d: int = 60,
    kind: str = "ground",
    **more: Any,  # noqa: ANN401 - sections of a garden file
) -> Garden:
    """Return a garden of one bed, planted so long ago and to be cleared in so many days."""
    planted, cleared = TODAY - age_d * DAY, TODAY + left_d * DAY
    grown = {"crop": crop, "planted": f"{planted:%m-%d}", "cleared": f"{cleared:%m-%d}"}
    bed = {"name": "bed", "area": "3 m2", "kind": kind, "crops": [grown]}
    return make_garden(bed=[bed], **more)


def due_in(garden: Garden, *entries: Entry, mean_c: float | None = 16.0) -> Due | str:
    """Return the bed if it is due, else why it is not."""
    due, unfed = who_is_due(garden, sorted(entries, key=lambda e: e.at), TODAY, mean_c=mean_c)
    assert len(due) + len(unfed) == 1
    return due[0] if due else unfed[0].reason


def in_days(found: Due | str) -> list[int]:
    return [(day - TODAY).days for day in found.days] if isinstance(found, Due) else []


def fed(days_ago: float) -> Fed:
    return Fed(at=NOW - days_ago * DAY, bed="bed", vessel="any", feed_ml=30.0, cans=1.0)


def picking(days_ago: float) -> Picking:
    return Picking(at=NOW - days_ago * DAY, bed="bed")


def hungry(days_ago: float) -> LooksHungry:
    return LooksHungry(at=NOW - days_ago * DAY, bed="bed")


@pytest.mark.parametrize(
    ("garden", "entries", "days", "told"),
    [
        # Leeks wait four weeks for their first feed and three for the next (crop table, common
        # practice); 14 days lie between a feed and a picking of leaves (a caution of our own).
        (garden_of("leek", age_d=20), [], [], "too young: first feed from 23 July"),
        (garden_of("leek", age_d=25), [], [3, 4, 5, 6], ""),
        (garden_of("leek", age_d=28), [], [0, 1, 2, 3, 4, 5, 6], ""),
        (garden_of("leek", age_d=121, left_d=100), [], [], "past the time"),
        (garden_of("leek"), [fed(10)], [], "fed on 5 July; next from 26 July"),
        (garden_of("leek"), [fed(16)], [5, 6], ""),
        (garden_of("leek"), [picking(1)], [], "being picked, and its leaves are eaten"),
        (garden_of("leek"), [picking(9)], [5, 6], ""),
        (garden_of("leek", left_d=10), [], [], "picked soon, and its leaves are eaten"),
        (garden_of("leek", left_d=16), [], [0, 1, 2], ""),
        # Tomatoes hang high: nothing waits there.
        (garden_of("tomato"), [picking(1)], [0, 1, 2, 3, 4, 5, 6], ""),
        # What looks hungry is fed again after two weeks, not three.
        (garden_of("leek"), [fed(14), hungry(1)], [0, 1, 2, 3, 4, 5, 6], ""),
        (garden_of("leek"), [fed(6), hungry(1)], [], "fed on 9 July; next from 23 July"),
        (garden_of("carrot"), [], [], "carrot is never fed"),
        # True leaves come about three weeks after sowing, from memory.
        (garden_of("leek", age_d=14, kind="tray"), [], [], "too young"),
    ],
)
def test_the_days_on_which_a_bed_may_be_fed(
    garden: Garden, entries: Sequence[Entry], days: list[int], told: str
) -> None:
    found = due_in(garden, *entries)
    assert in_days(found) == days
    if told:
        assert told in str(found)


@pytest.mark.parametrize(
    ("transplanted", "planted_d", "kind", "days"),
    [
        # At each transplanting, then every two to four weeks: common practice, no source.
        (True, 0, "ground", [0, 1, 2, 3, 4, 5, 6]),
        (True, 6, "ground", [0, 1, 2, 3, 4, 5, 6]),
        (True, 7, "ground", []),
        (False, 3, "ground", []),
        (True, 3, "tray", []),
    ],
)
def test_young_plants_are_fed_when_they_are_set_out(
    *, transplanted: bool, planted_d: int, kind: str, days: list[int]
) -> None:
    garden = make_garden(bed=[{"name": "bed", "area": "3 m2", "kind": kind}])
    at = NOW - planted_d * DAY
    entry = Planted(at=at, bed="bed", crop="leek", transplanted=transplanted)
    assert in_days(due_in(garden, entry)) == days
    assert in_days(due_in(garden, entry, fed(0))) == []


@pytest.mark.parametrize(("mean_c", "is_due"), [(6.9, False), (7.0, True), (None, True)])
def test_nothing_is_fed_in_the_cold(mean_c: float | None, *, is_due: bool) -> None:
    # Below 7 °C on average: common practice, no source.
    found = due_in(garden_of(), mean_c=mean_c)
    assert isinstance(found, Due) == is_due
    if not is_due:
        assert "too cold" in str(found)


def person(*days: str, role: str = "gardener") -> Json:
    return {"name": "fern", "mail": "fern@example.org", "working_days": list(days), "role": role}


@pytest.mark.parametrize(
    ("people", "smell_free", "days"),
    [
        ([], [], [0, 1, 2, 3, 4, 5, 6]),
        ([person("tue", "sat")], [], [0, 4]),
        ([person("tue"), person("sat")], [], [0, 4]),
        ([person("wed", role="helper")], [], [0, 1, 2, 3, 4, 5, 6]),
        ([person("tue", "sat")], ["sat"], [0]),
        ([], ["sun", "07-16"], [0, 2, 3, 4, 6]),
    ],
)
def test_feeding_is_for_working_days_without_a_smell_to_mind(
    people: list[Json], smell_free: list[str], days: list[int]
) -> None:
    garden = garden_of(told={"people": people}, feed={"smell_free": smell_free})
    assert [(day - TODAY).days for day in feed_days(garden, TODAY)] == days


def test_a_week_without_a_day_for_it_is_told_so() -> None:
    garden = garden_of(told={"people": [person("tue")]}, feed={"smell_free": ["tue"]})
    assert "no day this week" in str(due_in(garden))


def compost(days_ago: float) -> Mulched:
    return Mulched(at=NOW - days_ago * DAY, bed="bed", material="compost", depth_mm=30.0)


@pytest.mark.parametrize(
    ("entries", "tier"),
    [
        ([], 1),
        ([compost(200)], 0),
        ([compost(400)], 1),
        ([hungry(2)], 2),
        ([compost(10), hungry(2)], 2),
        # It was fed since then.
        ([hungry(30), fed(20)], 1),
    ],
)
def test_hungry_and_uncomposted_beds_come_first(entries: Sequence[Entry], tier: int) -> None:
    found = due_in(garden_of(), *entries)
    assert isinstance(found, Due)
    assert found.tier == tier


def test_a_bed_of_which_no_crop_is_known_is_never_about_to_be_cleared() -> None:
    garden = make_garden()
    (due,), _ = who_is_due(garden, [], TODAY, mean_c=None)
    assert len(due.days) == 7
