from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from typing import TYPE_CHECKING, Any

import pytest
from tests.gardens import level_probe, make_garden, note

from steepwell.store.store import garden_store_url, open_store
from steepwell.tell.looking_back import how_it_did, how_ranges_did, weeks_held

if TYPE_CHECKING:
    from pathlib import Path


def outlook(first: date, now_l: float, low_l: float, high_l: float) -> dict[str, Any]:
    days = 21
    fan = {
        name: [low_l if name < "p50" else high_l] * days
        for name in ("p05", "p10", "p25", "p50", "p75", "p90", "p95")
    }
    return {
        "schema": 1,
        "issued": f"{first.isoformat()}T06:30:00+01:00",
        "garden": "plum-lane",
        "members": 500,
        "days": [(first + timedelta(days=day)).isoformat() for day in range(days)],
        "butts": [
            {
                "name": "north",
                "capacity_l": 630,
                "now_l": now_l,
                "volume_l": fan,
                "p_empty": [0.0] * days,
                "p_overflow": [0.0] * days,
            }
        ],
        "water": {
            "volume_l": fan,
            "p_dry": [0.0] * days,
            "dry_by": {"p10": None, "p50": None, "p90": None},
            "wanted_l": {"p50": [0.0] * days},
            "shortfall_l": {"p10": 0, "p50": 0, "p90": 0},
            "spilled_l": {"p50": 0},
        },
        "beds": [],
        "vessels": [],
    }


TODAY = date(2031, 6, 13)
BEFORE = TODAY - timedelta(days=7)


@pytest.mark.parametrize(
    ("now_l", "verdict"), [(410, "it held"), (250, "there is less"), (610, "there is more")]
)
def test_last_week_is_compared_with_what_is_there(now_l: float, verdict: str) -> None:
    said = how_it_did(outlook(BEFORE, 400, 300, 520), outlook(TODAY, now_l, 0, 0))
    assert said is not None
    assert verdict in said
    assert "300 to 520 L" in said


def test_water_below_the_taps_was_never_in_hand() -> None:
    said = how_it_did(outlook(BEFORE, 400, 300, 520), outlook(TODAY, 410, 0, 0), below_taps_l=20.0)
    assert said == "Last week's was 280 to 500 L for today: it held."


def test_nothing_is_said_without_a_week_between() -> None:
    now = outlook(TODAY, 410, 0, 0)
    assert how_it_did(None, now) is None
    assert how_it_did(outlook(BEFORE, 400, 300, 520), None) is None
    assert how_it_did(outlook(TODAY - timedelta(days=3), 400, 300, 520), now) is None
    assert how_it_did(outlook(TODAY - timedelta(days=60), 400, 300, 520), now) is None


# --- The weeks before -----------------------------------------------------------------------------

NOW = datetime.combine(TODAY, time(8), UTC)


def judged(folder: Path, levels: dict[int, float], outlooks: set[int]) -> list[bool]:
    """Give the range of 300 to 520 L some days ago, and read the level some evenings ago."""
    butt = {"name": "north", "litres": "630 L"}
    garden = make_garden(folder, butt=[butt], sensor=[level_probe("north")])
    with open_store(garden_store_url(garden), garden) as store:
        for ago in sorted(outlooks, reverse=True):
            day = TODAY - timedelta(days=ago)
            at = datetime.combine(day, time(6, 30), UTC)
            store.results.save("outlook", at, outlook(day, 400, 300, 520))
        for ago, litres in levels.items():
            at = datetime.combine(TODAY - timedelta(days=ago), time(20), UTC)
            note(store, garden, at, "level-read", butt="north", litres=litres)
        return weeks_held(garden, store, NOW)


def test_each_week_is_judged_by_the_evening_before_the_next(tmp_path: Path) -> None:
    # The ranges of 7, 14 and 21 days ago end 1, 8 and 15 evenings ago; outlooks come every day.
    levels = {1: 400.0, 2: 0.0, 8: 200.0, 9: 400.0, 15: 310.0, 22: 530.0}
    held = judged(tmp_path, levels, set(range(29)))
    # 530 L are over the range by less than 2 % of 630 L.
    assert held == [True, False, True, True]


def test_a_week_that_nobody_read_or_no_outlook_was_made_in_is_left_out(tmp_path: Path) -> None:
    levels = {ago: 400.0 for ago in range(1, 40) if ago != 8}
    assert judged(tmp_path, levels, {7, 14, 30}) == [True, True]


def test_no_more_than_twenty_weeks_are_judged(tmp_path: Path) -> None:
    levels = dict.fromkeys(range(1, 200), 400.0)
    assert judged(tmp_path, levels, set(range(7, 200, 7))) == [True] * 20


@pytest.mark.parametrize(
    ("held", "said"),
    [
        ([True] * 16 + [False] * 4, "It held in 16 of 20 weeks; eight in ten is right."),
        ([True] * 8, "It held in 8 of 8 weeks; eight in ten is right."),
        ([True] * 7, None),
        ([], None),
    ],
)
def test_how_many_ranges_held_is_said_of_eight_or_more(held: list[bool], said: str | None) -> None:
    assert how_ranges_did(held) == said
