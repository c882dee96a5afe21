"""The feed in hand by its rung, and over the year."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from tests.gardens import flat_record, make_garden, state_of

from steepwell.decide.reserve import by_rung, in_hand, year_ahead
from steepwell.decide.starting import Reserve
from steepwell.model.steep import aged, filled
from steepwell.outlook.state import SteepNow
from steepwell.store.entries import parse_entry

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden
    from steepwell.store.entries import Entry

NOW = datetime(2031, 6, 1, 5, 30, tzinfo=UTC)
BEDS = [
    {
        "name": "leeks",
        "area": "3 m2",
        "crops": [{"crop": "leek", "planted": "06-01", "cleared": "03-10"}],
    }
]


def garden_of(**vessel: object) -> Garden:
    return make_garden(vessel=[{"name": "leek", "volume": "60 L", **vessel}], bed=BEDS)


def steep(age_d: float, parts: int | None, *, solids_l: float = 4.0) -> SteepNow:
    began = NOW - timedelta(days=age_d)
    contents = aged(filled(54.0, None), (age_d,))
    return SteepNow(
        "leek",
        17.0,
        began,
        age_d,
        54.0,
        0.0,
        ("leek",),
        solids_l=solids_l,
        dilution_parts=parts,
        contents=contents,
    )


def noted(garden: Garden, sickness: str) -> list[Entry]:
    began = {"kind": "steep-started", "vessel": "leek", "matter": [{"plant": "leek"}]}
    start = parse_entry({**began, "at": NOW - timedelta(days=60)}, garden, NOW, [])
    seen = {"kind": "sickness-seen", "sickness": sickness, "vessel": "leek"}
    return [start, parse_entry({**seen, "at": NOW - timedelta(days=1)}, garden, NOW, [start])]


def test_what_is_in_hand_is_told_in_cans() -> None:
    garden = garden_of()
    state = state_of(garden, NOW, steeps=[steep(60.0, 150)])
    ((kept),) = in_hand(garden, state, [])
    # 50 L above the solids make 50 x 151 = 7550 L of what goes on the beds.
    assert (kept.litres, kept.cans) == (50.0, int(7550 / garden.can.size))
    assert kept.families == ("onion family",)


@pytest.mark.parametrize("sickness", ["clubroot", "rust"])
def test_what_is_locked_is_not_in_hand(sickness: str) -> None:
    garden = garden_of()
    state = state_of(garden, NOW, steeps=[steep(60.0, 150)])
    assert in_hand(garden, state, noted(garden, sickness)) == []


def test_vessels_on_one_rung_are_counted_together() -> None:
    onions, cabbages, weeds = (
        Reserve("a", 20.0, 150, 300, ("onion family",)),
        Reserve("b", 10.0, 150, 150, ("cabbage family",)),
        Reserve("c", 5.0, 30, 17, ()),
    )
    thick, thin = by_rung([onions, cabbages, weeds])
    assert (thick.dilution_parts, thick.litres, thick.families) == (30, 5.0, ())
    assert (thin.litres, thin.cans) == (30.0, 450)
    assert thin.families == ("onion family", "cabbage family")
    # Where some of it suits any bed, so does the rung.
    (both,) = by_rung([onions, Reserve("d", 5.0, 150, 80, ())])
    assert both.families == ()


def test_a_year_ends_where_practice_does() -> None:
    # Common practice: first use at two weeks at 1:30, after about twelve months 1:400 to 1:500.
    state = state_of(garden_of(), NOW, steeps=[steep(14.0, 30)])
    (year,) = year_ahead(garden_of(), state, flat_record())
    assert year.steps[0].first == date(2031, 6, 1)
    assert year.steps[0].dilution_parts == 30
    assert year.steps[-1].dilution_parts in {400, 500}
    parts = [step.dilution_parts or 0 for step in year.steps]
    assert parts == sorted(set(parts))


def test_a_fresh_steep_is_ready_first_when_it_is_old_enough() -> None:
    state = state_of(garden_of(), NOW, steeps=[steep(1.0, None)])
    (year,) = year_ahead(garden_of(), state, flat_record(tmin_c=17.0, tmax_c=17.0))
    unready, ready, *_ = year.steps
    assert (unready.dilution_parts, unready.cans) == (None, 0)
    # At 17 °C, by definition, two weeks after it began.
    assert abs((ready.first - date(2031, 6, 14)).days) <= 1


def test_without_weather_nobody_knows_when_a_steep_is_ready() -> None:
    state = state_of(garden_of(), NOW, steeps=[steep(1.0, None)])
    (year,) = year_ahead(garden_of(), state, None)
    assert [step.dilution_parts for step in year.steps] == [None]


def test_an_owners_own_ladder_is_kept_to() -> None:
    garden = garden_of(ladder=[50, 500])
    state = state_of(garden, NOW, steeps=[steep(14.0, 50)])
    (year,) = year_ahead(garden, state, None)
    assert [step.dilution_parts for step in year.steps] == [50, 500]
