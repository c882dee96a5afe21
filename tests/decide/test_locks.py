"""Which vessels sickness and weedkiller lock, for whom, and until when."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest
from tests.gardens import make_garden

from steepwell.decide.locks import Lock, barring, locks_on
from steepwell.store.entries import Entry, parse_entry

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.garden.garden import Garden

Json = dict[str, Any]
NOW = datetime(2031, 7, 15, 5, 30, tzinfo=UTC)
TODAY = date(2031, 7, 15)


def ago(days: float) -> datetime:
    return NOW - timedelta(days=days)


def garden_of(**more: Any) -> Garden:  # noqa: ANN401 - sections of a garden file
    crops = [{"crop": "tomato", "planted": "05-20", "cleared": "10-01"}]
    return make_garden(
        bed=[
            {"name": "south", "area": "3 m2", "crops": crops},
            {"name": "west", "area": "3 m2"},
        ],
        vessel=[{"name": "one", "volume": "60 L"}, {"name": "two", "volume": "60 L"}],
        **more,
    )


def started(days_ago: float, *plants: str, vessel: str = "one") -> Json:
    matter = [{"plant": plant} for plant in plants]
    return {"kind": "steep-started", "at": ago(days_ago), "vessel": vessel, "matter": matter}


def emptied(days_ago: float) -> Json:
    return {"kind": "vessel-emptied", "at": ago(days_ago), "vessel": "one"}


def seen(days_ago: float, sickness: str, **where: str) -> Json:
    return {"kind": "sickness-seen", "at": ago(days_ago), "sickness": sickness, **where}


def beans(days_ago: float, outcome: str) -> Json:
    return {"kind": "bean-test", "at": ago(days_ago), "vessel": "one", "outcome": outcome}


def cleared(days_ago: float, *, healthy: bool) -> Json:
    return {"kind": "cleared", "at": ago(days_ago), "bed": "south", "healthy": healthy}


def journal(garden: Garden, raws: Sequence[Json]) -> list[Entry]:
    entries: list[Entry] = []
    for raw in raws:
        entries.append(parse_entry(raw, garden, NOW, entries))
    return entries


def locks(garden: Garden, *raws: Json, on: date = TODAY) -> list[Lock]:
    return locks_on(garden, journal(garden, raws), on)


@pytest.mark.parametrize(
    "sickness",
    [
        # Never into a vessel: common practice, no source.
        *("clubroot", "onion-white-rot", "nematodes", "fusarium-wilt", "sclerotinia"),
        *("mosaic-virus", "unknown"),
    ],
)
def test_what_rests_for_years_locks_a_vessel_for_good(sickness: str) -> None:
    garden = garden_of()
    raws = started(40, "tomato"), seen(5, sickness, vessel="one")
    (lock,) = locks(garden, *raws)
    assert (lock.vessel, lock.bars, lock.until) == ("one", "all", None)
    assert "10 July" in lock.because
    # The vessel, not the steep: emptied and in three years it is locked still.
    assert locks(garden, *raws, emptied(3), on=TODAY + timedelta(days=1100)) == [lock]


@pytest.mark.parametrize("sickness", ["late-blight", "downy-mildew", "rust"])
def test_what_does_not_rest_locks_it_for_the_family_for_a_year(sickness: str) -> None:
    garden = garden_of()
    raws = started(40, "tomato"), seen(5, sickness, vessel="one")
    (lock,) = locks(garden, *raws)
    assert lock.until == date(2032, 7, 10)
    assert lock.keeps_from("potato family")
    assert not lock.keeps_from("onion family")
    assert locks(garden, *raws, on=date(2032, 7, 9)) == [lock]
    assert locks(garden, *raws, on=date(2032, 7, 10)) == []


@pytest.mark.parametrize(
    ("raws", "locked"),
    [
        # What grew in the sick bed went into it, before it was seen or after.
        ([started(40, "tomato"), seen(5, "wilt", bed="south")], ["one"]),
        ([started(40, "tomato", "nettle"), seen(5, "wilt", bed="south")], ["one"]),
        ([seen(5, "wilt", bed="south"), started(2, "tomato")], ["one"]),
        # Other plants, other beds, and tomatoes of another year.
        ([started(40, "nettle"), seen(5, "wilt", bed="south")], []),
        ([started(40, "tomato"), seen(5, "wilt", bed="west")], []),
        ([started(80, "tomato"), seen(5, "wilt", bed="south")], []),
        # Sick when it was cleared is sick of unknown cause.
        ([started(40, "tomato"), cleared(1, healthy=False)], ["one"]),
        ([started(40, "tomato"), cleared(1, healthy=True)], []),
        (
            [
                started(40, "tomato"),
                started(30, "tomato", vessel="two"),
                seen(5, "wilt", bed="south"),
            ],
            ["one", "two"],
        ),
    ],
)
def test_sickness_in_a_bed_locks_what_was_made_of_it(raws: list[Json], locked: list[str]) -> None:
    assert [lock.vessel for lock in locks(garden_of(), *raws)] == locked


@pytest.mark.parametrize(
    ("days_ago", "bars"),
    # What was named within a fortnight of the clearing is what it was; else the cause is unknown.
    [(1, ["family"]), (10, ["family"]), (30, ["family", "all"])],
)
def test_what_a_bed_was_cleared_for_may_have_been_named(days_ago: float, bars: list[str]) -> None:
    raws = [started(40, "tomato"), seen(days_ago, "blight", bed="south"), cleared(1, healthy=False)]
    assert [lock.bars for lock in locks(garden_of(), *raws)] == bars


def test_an_entry_withdrawn_unlocks() -> None:
    garden = garden_of()
    entries = journal(garden, [started(40, "tomato"), seen(5, "wilt", bed="south")])
    assert locks_on(garden, entries, TODAY)
    assert locks_on(garden, entries[:1], TODAY) == []


@pytest.mark.parametrize(
    ("lawn", "plant", "is_locked"),
    [
        (None, "grass-clippings", True),
        ({"area": "30 m2", "treated": True}, "grass-clippings", True),
        ({"area": "30 m2", "treated": False}, "grass-clippings", False),
        ({"area": "30 m2", "treated": False}, "hay", True),
        (None, "straw", True),
        (None, "nettle", False),
    ],
)
def test_a_doubt_about_weedkiller_locks_for_all_but_grass(
    lawn: Json | None, plant: str, *, is_locked: bool
) -> None:
    garden = garden_of(**({} if lawn is None else {"lawn": lawn}))
    found = locks(garden, started(3, "nettle", plant))
    assert [lock.bars for lock in found] == (["all-but-grass"] if is_locked else [])
    if found:
        assert barring(found, "one", "pea family") == found[0]
        assert barring(found, "one", "grass family") is None
        assert barring(found, "two", "pea family") is None
        # Within a week of filling.
        assert found[0].test_by == date(2031, 7, 19)


@pytest.mark.parametrize(
    ("raws", "locked", "asked"),
    [
        ([started(30, "hay")], True, True),
        ([started(30, "hay"), beans(2, "healthy")], False, False),
        ([started(30, "hay"), beans(2, "twisted")], True, False),
        ([started(30, "hay"), beans(9, "twisted"), beans(2, "healthy")], False, False),
        # A test of an earlier steep says nothing of this one.
        ([started(60, "hay"), beans(35, "healthy"), emptied(31), started(30, "hay")], True, True),
        ([started(60, "hay"), emptied(31), started(30, "nettle")], False, False),
        ([started(60, "hay"), emptied(31)], False, False),
    ],
)
def test_beans_settle_it(raws: list[Json], *, locked: bool, asked: bool) -> None:
    found = locks(garden_of(), *raws)
    assert bool(found) == locked
    assert [lock.test_by for lock in found if lock.test_by] == ([TODAY] if asked else [])
