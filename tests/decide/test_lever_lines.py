"""What else would help, from week to week, and for which beds the clippings are used."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from tests.gardens import flat_record, make_garden, state_of

from steepwell.decide.clippings import clippings_l
from steepwell.decide.lever_lines import lever_lines
from steepwell.decide.orders import under_orders
from steepwell.decide.plan import make_plan
from steepwell.outlook.outlook import make_outlook
from steepwell.store.dated import barred
from steepwell.store.entries import Entry, Mulched, Restriction
from steepwell.tell.documents import LeverLine, MulchLine

Json = dict[str, Any]

# A Wednesday morning in July; letters go out on Fridays.
NOW = datetime(2031, 7, 16, 5, 30, tzinfo=UTC)
DAY = timedelta(days=1)
LEEKS = {"crop": "leek", "planted": "07-10"}
GARDEN = make_garden(
    butt=[{"name": "north", "litres": "50000 L"}],
    bed=[
        {"name": "leeks", "area": "4 m2", "crops": [LEEKS]},
        {"name": "sowings", "area": "2 m2", "crops": [LEEKS]},
        {"name": "peas", "area": "4 m2", "crops": [{"crop": "pea", "planted": "05-20"}]},
    ],
    tap={"available": "yes"},
    lawn={"area": "200 m2", "treated": False},
    hours={"weekly_on": "fri"},
)


def mulched(days_ago: float = 0.0, bed: str = "leeks") -> Mulched:
    return Mulched(at=NOW - days_ago * DAY, bed=bed, material="grass-clippings", depth_mm=25.0)


def orders(first: date, last: date | None, *bars: str) -> Restriction:
    return Restriction.model_validate({"at": NOW, "from": first, "to": last, "bars": bars})


def lines(
    *entries: Entry,
    last: Json | None = None,
    now: datetime = NOW,
    litres: float = 500.0,
) -> Json:
    garden = under_orders(GARDEN, entries, now.date())
    state = state_of(garden, now, litres=(litres,), depletion_mm=[6.0] * 3, crop="leek")
    outlook = make_outlook(garden, state, flat_record(), list(entries), seed=1, days=60, members=8)
    return lever_lines(garden, state, outlook, entries, last)


def kinds(told: Json) -> set[tuple[str, str | None]]:
    return {(line["lever"], line["bed"]) for line in told["levers"]}


@pytest.fixture(scope="module")
def told() -> Json:
    return lines()


def test_every_bed_has_its_levers_and_the_tap_is_one(told: Json) -> None:
    assert kinds(told) == {
        *((lever, bed) for lever in ("mulch", "shade", "stop") for bed in ("leeks", "sowings")),
        *((lever, "peas") for lever in ("mulch", "shade", "stop")),
        ("tap", None),
    }
    assert told["levers_on"] == "2031-07-16"
    days = [line["days"] for line in told["levers"]]
    assert days == sorted(days, reverse=True)


def test_the_lines_are_what_was_agreed(told: Json) -> None:
    for line in told["levers"]:
        assert LeverLine.model_validate(line).model_dump() == line
    for line in told["mulch"]:
        assert MulchLine.model_validate(line).model_dump() == line


def test_clippings_go_where_a_box_saves_most_until_there_are_none(told: Json) -> None:
    # 0.35 L/m² a week for a fortnight on 200 m² are 140 L (from memory): 100 L for 4 m² of leeks
    # and 40 L of the 50 L for 2 m² of sowings, or the other way round; none for peas, whose
    # leaves cover the ground. Boxes hold 40 L.
    boxes = {line["bed"]: line["boxes"] for line in told["mulch"]}
    assert boxes in ({"leeks": 2.5, "sowings": 1.0}, {"sowings": 1.5, "leeks": 2.5})
    assert {line["depth_mm"] for line in told["mulch"]} == {25.0}


def test_with_plenty_of_water_nothing_is_said() -> None:
    nothing: Json = {"mulch": [], "levers": [], "levers_on": None}
    assert lines(litres=50_000.0) == nothing
    state = state_of(GARDEN, NOW, litres=(40.0,), depletion_mm=[6.0] * 3)
    assert lever_lines(GARDEN, state, None, []) == nothing


def test_what_was_worked_out_is_kept_for_a_week_but_for_the_letter(told: Json) -> None:
    # Thursday, Friday with its letter, and Wednesday a week later.
    days = [lines(last=told, now=NOW + days * DAY)["levers_on"] for days in (1, 2, 7)]
    assert days == ["2031-07-16", "2031-07-18", "2031-07-23"]


def test_what_was_mulched_since_is_not_told_again(told: Json) -> None:
    later = lines(mulched(bed="leeks"), last=told, now=NOW + DAY)
    assert kinds(told) - kinds(later) == {("mulch", "leeks")}
    assert {line["bed"] for line in later["mulch"]} == {line["bed"] for line in told["mulch"]} - {
        "leeks"
    }


@pytest.mark.parametrize("bars", ["tap", "watering"])
def test_what_orders_bar_is_withdrawn_at_once(told: Json, bars: str) -> None:
    order = orders(date(2031, 7, 17), date(2031, 8, 31), bars)
    later = lines(order, last=told, now=NOW + DAY)
    assert kinds(told) - kinds(later) == {("tap", None)}
    assert ("tap", None) not in kinds(lines(order, now=NOW + 2 * DAY))


def test_a_hose_that_is_barred_leaves_the_can() -> None:
    assert ("tap", None) in kinds(lines(orders(date(2031, 7, 1), None, "hose")))


@pytest.mark.parametrize(
    ("day", "what"),
    [
        (date(2031, 6, 30), set()),
        (date(2031, 7, 1), {"hose"}),
        (date(2031, 7, 15), {"hose", "tap"}),
        (date(2031, 7, 31), {"hose", "tap"}),
        (date(2031, 8, 1), {"tap"}),
        (date(2032, 8, 1), {"tap"}),
    ],
)
def test_orders_hold_from_their_first_day_to_their_last(day: date, what: set[str]) -> None:
    entries = [
        orders(date(2031, 7, 1), date(2031, 7, 31), "hose"),
        orders(date(2031, 7, 15), None, "tap", "hose"),
    ]
    entries[1] = orders(date(2031, 7, 15), None, "tap")
    assert barred(entries, day) == what


def test_a_garden_is_as_declared_where_nothing_of_it_is_barred() -> None:
    assert under_orders(GARDEN, [orders(date(2031, 7, 1), None, "hose")], NOW.date()) is GARDEN


def test_where_watering_is_barred_no_bed_gets_any() -> None:
    state = state_of(GARDEN, NOW, litres=(400.0,), depletion_mm=[15.0] * 3, crop="leek")
    assert any(line["litres"] for line in make_plan(GARDEN, state, None, [])["water"])
    plan = make_plan(GARDEN, state, None, [orders(date(2031, 7, 1), None, "watering")])
    assert {line["reason"] for line in plan["water"]} == {"local orders bar watering"}
    assert not any(line["litres"] or line["daily_l"] for line in plan["water"])
    assert plan["feed"] == plan["vessels"] == []


@pytest.mark.parametrize(
    ("day", "entries", "litres"),
    [
        # From memory: 0.35 L/m² a week in July, 0.5 in May, none in winter; 200 m², a fortnight.
        (date(2031, 7, 16), [], 140.0),
        (date(2031, 5, 16), [], 200.0),
        (date(2031, 12, 16), [], 0.0),
        # A week ago they were used, so that a week's growth is there.
        (date(2031, 7, 16), [mulched(7)], 70.0),
        (date(2031, 7, 16), [mulched(7).model_copy(update={"material": "straw"})], 140.0),
        (date(2031, 7, 16), [mulched(30)], 140.0),
    ],
)
def test_a_lawn_gives_what_has_grown_since(day: date, entries: list[Entry], litres: float) -> None:
    assert clippings_l(GARDEN, entries, day, 0) == pytest.approx(litres)


def test_in_the_south_a_lawn_grows_half_a_year_later() -> None:
    site = GARDEN.garden.model_copy(update={"latitude": -GARDEN.garden.latitude})
    south = GARDEN.model_copy(update={"garden": site})
    assert clippings_l(south, [], date(2031, 7, 16), 0) == clippings_l(
        GARDEN, [], date(2031, 1, 16), 0
    )
    assert clippings_l(south, [], date(2031, 11, 16), 0) == pytest.approx(200.0)
