"""A feed that a letter told counts as given unless somebody says otherwise."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest
from tests.gardens import flat_record, make_garden, note

from steepwell.outlook.now import state_now
from steepwell.outlook.silence import feeds_in_silence
from steepwell.store.entries import Fed

if TYPE_CHECKING:
    from pathlib import Path

    from tests.gardens import Open

    from steepwell.garden.garden import Garden
    from steepwell.store.store import Store

Json = dict[str, Any]

DAY = timedelta(days=1)
# Friday evening, when the letter comes; it says to feed the leeks on Sunday.
LETTER = datetime(2031, 6, 6, 17, tzinfo=UTC)
SUNDAY = datetime(2031, 6, 8, tzinfo=UTC)
MONDAY = SUNDAY + DAY + timedelta(hours=6)
FED: Json = {"vessel": "nettle", "feed_ml": 60.0, "cans": 1.0}
BEDS = [{"name": "leeks", "area": "3 m2"}, {"name": "beans", "area": "6 m2"}]


def plan(day: str = "2031-06-08", bed: str = "leeks") -> Json:
    line = {"bed": bed, "vessel": "nettle", "cans": 2, "feed_ml": 120.0, "day": day}
    return {"week": ["2031-06-06", "2031-06-12"], "water": [], "feed": [line]}


@pytest.fixture
def garden(tmp_path: Path) -> Garden:
    return make_garden(tmp_path, bed=BEDS, vessel=[{"name": "nettle", "volume": "60 L"}])


@pytest.fixture
def store(garden: Garden, opened: Open) -> Store:
    store = opened(garden)
    matter = [{"plant": "nettle"}]
    note(store, garden, LETTER - 60 * DAY, "steep-started", vessel="nettle", matter=matter)
    note(store, garden, LETTER - 30 * DAY, "ready-confirmed", vessel="nettle")
    store.results.save("plan", LETTER - timedelta(hours=11), plan())
    store.results.save("letter", LETTER, {"schema": 1, "letters": 1})
    return store


def silent(garden: Garden, store: Store, now: datetime = MONDAY) -> list[tuple[str, str, int]]:
    found = feeds_in_silence(garden, store, store.journal.entries(now), now)
    return [
        (each.kind, each.bed if isinstance(each, Fed) else each.vessel, each.at.day)
        for each in found
    ]


GIVEN = [("fed", "leeks", 8), ("drawn-off", "nettle", 8)]


def test_silence_counts_as_fed_and_as_drawn_when_the_day_is_over(
    garden: Garden, store: Store
) -> None:
    assert silent(garden, store, SUNDAY + timedelta(hours=22)) == []
    assert silent(garden, store) == GIVEN
    found = feeds_in_silence(garden, store, store.journal.entries(MONDAY), MONDAY)
    assert {each.by for each in found} == {"guess"}
    assert [getattr(each, "feed_ml", None) for each in found] == [60.0, None]


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("job-not-done", {"job": "feed/leeks/2031-06-08"}),
        ("job-done", {"job": "feed/leeks/2031-06-08", **FED}),
        ("fed", {"bed": "leeks", **FED}),
        ("away", {"from": "2031-06-08", "to": "2031-06-10"}),
        ("put-to-bed", {}),
        ("vessel-emptied", {"vessel": "nettle"}),
    ],
)
def test_what_is_said_is_believed(
    garden: Garden, store: Store, kind: str, words: dict[str, Any]
) -> None:
    note(store, garden, LETTER + timedelta(hours=1), kind, **words)
    assert silent(garden, store) == []


def test_a_feed_noted_a_day_late_is_that_feed(garden: Garden, store: Store) -> None:
    note(store, garden, MONDAY - timedelta(minutes=5), "fed", bed="leeks", **FED)
    assert silent(garden, store) == []


@pytest.mark.parametrize(
    ("later", "expected"),
    [
        # The plan of the day has moved it, or gives another bed its feed.
        (plan("2031-06-10"), []),
        (plan(bed="beans"), []),
        (plan(), GIVEN),
    ],
)
def test_the_plan_of_the_day_must_still_hold_it(
    garden: Garden, store: Store, later: Json, expected: list[Any]
) -> None:
    store.results.save("plan", SUNDAY + timedelta(hours=6), later)
    assert silent(garden, store) == expected


def test_what_no_letter_told_was_not_done(garden: Garden, store: Store) -> None:
    store.results.save("plan", LETTER + 7 * DAY, plan("2031-06-14", "beans"))
    assert silent(garden, store, MONDAY + 7 * DAY) == GIVEN
    store.results.save("letter", LETTER + 7 * DAY, {"schema": 1, "letters": 1})
    assert silent(garden, store, MONDAY + 7 * DAY)[2:] == [
        ("fed", "beans", 14),
        ("drawn-off", "nettle", 14),
    ]


def test_the_vessel_is_told_with_a_wider_range(garden: Garden, store: Store) -> None:
    state = state_now(garden, store, flat_record(), MONDAY)
    (steep,) = state.vessels
    assert steep.presumed_l == pytest.approx(0.12)
    assert steep.drawn_l == pytest.approx(0.12)
    assert [each.kind for each in state.taken] == ["fed", "drawn-off"]
    note(store, garden, MONDAY, "job-not-done", job="feed/leeks/2031-06-08")
    (steep,) = state_now(garden, store, flat_record(), MONDAY).vessels
    assert (steep.presumed_l, steep.drawn_l) == (0.0, 0.0)
