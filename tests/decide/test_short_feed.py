"""Whether the feed in hand lasts for the weeks ahead."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from tests.gardens import make_garden, state_of

from steepwell.decide.short_feed import short_feeds
from steepwell.outlook.state import SteepNow

NOW = datetime(2031, 6, 1, 5, 30, tzinfo=UTC)
# Tomatoes of 1 May are due every fortnight from day 28 on (crop table): thrice from 2 June to
# 13 July, on 12 June, 26 June and 10 July.
CROPS = [{"crop": "tomato", "planted": "05-01", "cleared": "09-30"}]
GARDEN = make_garden(
    bed=[{"name": "south", "area": "3 m2", "crops": CROPS}],
    vessel=[{"name": "one", "volume": "60 L"}, {"name": "two", "volume": "60 L"}],
)
# Of a 9 L can at 1:30, 9/31 L is feed.
A_CAN_L = 9 / 31


def steep(vessel: str, plant: str, litres: float) -> SteepNow:
    began = NOW - timedelta(days=14)
    return SteepNow(vessel, 17.0, began, 14.0, litres, 0.0, (plant,), dilution_parts=30)


@pytest.mark.parametrize(
    ("own_l", "any_l", "short"),
    [(0.9, 0.0, False), (0.8, 0.0, True), (0.4, 0.5, False), (0.4, 0.4, True), (0.0, 0.9, False)],
)
def test_less_than_six_weeks_take_is_told(own_l: float, any_l: float, *, short: bool) -> None:
    steeps = [steep("one", "tomato", own_l), steep("two", "nettle", any_l)]
    found = short_feeds(GARDEN, state_of(GARDEN, NOW, depletion_mm=[0.0], steeps=steeps), [])
    assert bool(found) == short
    for each in found:
        assert each.wanted_l == pytest.approx(3 * A_CAN_L)
        assert each.there_l == pytest.approx(own_l + any_l)
        assert each.by == date(2031, 7, 10)


def test_where_there_is_none_at_all_the_start_plan_says_what_to_begin() -> None:
    empty = [SteepNow(name, 17.0, None, 0.0, 0.0, 0.0, ()) for name in ("one", "two")]
    state = state_of(GARDEN, NOW, depletion_mm=[0.0], steeps=empty)
    assert short_feeds(GARDEN, state, []) == []
