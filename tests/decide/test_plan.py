"""The plan as a document: its keys, its week, and that it is what others were told."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

import jsonschema
import pytest
from tests.gardens import flat_record, make_garden, state_of

from steepwell.decide.plan import make_plan
from steepwell.outlook.outlook import make_outlook
from steepwell.outlook.state import State, SteepNow
from steepwell.tell import documents

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden
    from steepwell.outlook.outlook import Outlook

Json = dict[str, Any]

# A Tuesday, 06:30 in London.
NOW = datetime(2031, 7, 15, 5, 30, tzinfo=UTC)
TOMATOES = {"crop": "tomato", "planted": "05-20", "cleared": "10-01"}
LEEKS = {"crop": "leek", "planted": "07-02", "cleared": "03-10"}


def garden_of(**more: object) -> Garden:
    sections: dict[str, Any] = {
        "butt": [
            {"name": "north", "litres": "210 L", "dead_volume": "12 L"},
            {"name": "south", "litres": "210 L", "dead_volume": "10 L"},
        ],
        "bed": [
            {"name": "tomatoes", "area": "3 m2", "crops": [TOMATOES], "butt": "south"},
            {"name": "leeks", "area": "3 m2", "crops": [LEEKS]},
        ],
        "vessel": [
            {"name": "nettle", "volume": "60 L"},
            {"name": "spare", "volume": "40 L", "headspace": "5 L"},
        ],
        **more,
    }
    return make_garden(zone="Europe/London", **sections)


def state(garden: Garden, *litres: float, depletion_mm: float = 15.0) -> State:
    steeps = [
        SteepNow("nettle", 18.0, NOW - timedelta(days=20), 20.0, 54.0, 0.0, ("nettle",)),
        SteepNow("spare", 18.0, None, 0.0, 0.0, 0.0, ()),
    ]
    return state_of(
        garden,
        NOW,
        litres=litres or (150.0, 100.0),
        depletion_mm=[depletion_mm] * 2,
        steeps=steeps,
        crop="tomato",
    )


def outlook_of(garden: Garden, now: State, *, rain_mm: float = 0.0, days: int = 30) -> Outlook:
    record = flat_record(rain_mm=rain_mm)
    return make_outlook(garden, now, record, [], seed=1, days=days, members=20)


@pytest.fixture(scope="module")
def plan() -> Json:
    garden = garden_of()
    now = state(garden, 205.0, 205.0)
    # For a week 388 L are plenty for 6 m².
    return make_plan(garden, now, outlook_of(garden, now, days=7), [])


def test_the_document_has_its_keys_and_no_others(plan: Json) -> None:
    assert set(plan) == {
        *("schema", "issued", "week", "in_hand_l", "lasts_to", "water", "feed", "unfed"),
        *("vessels", "short_feed", "mulch", "levers", "levers_on", "tap_l", "taken"),
    }
    keys = {
        "water": "bed daily_l cans litres days from skip_after_mm stop enough reason",
        "feed": "bed vessel cans feed_ml spoons measure dilution_parts day reason heed only_due",
        "unfed": "bed reason due",
        "vessels": "name do rainwater_l matter by reason in_short",
    }
    for part, names in keys.items():
        assert plan[part], part
        assert {frozenset(line) for line in plan[part]} == {frozenset(names.split())}


def test_the_document_is_what_was_agreed(plan: Json) -> None:
    documents.Plan.model_validate(plan)
    schema = documents.Plan.model_json_schema()
    jsonschema.validate(plan, schema, format_checker=jsonschema.FormatChecker())
    assert json.loads(json.dumps(plan, allow_nan=False)) == plan


def test_the_plan_is_for_seven_days_from_today(plan: Json) -> None:
    assert plan["schema"] == 1
    assert plan["issued"] == "2031-07-15T06:30:00+01:00"
    assert plan["week"] == ["2031-07-15", "2031-07-21"]
    days = [day for line in plan["water"] for day in line["days"]]
    days += [line["day"] for line in plan["feed"]]
    assert min(days) >= "2031-07-15"
    assert max(days) <= "2031-07-21"


def test_what_is_in_hand_is_above_the_taps(plan: Json) -> None:
    # 205 - 12 and 205 - 10 L.
    assert plan["in_hand_l"] == 193 + 195
    assert sum(line["litres"] for line in plan["water"]) <= 193 + 195


def test_how_long_plenty_lasts_is_what_the_outlook_says() -> None:
    garden = garden_of()
    now = state(garden, 205.0, 205.0)
    outlook = outlook_of(garden, now, days=7)
    assert make_plan(garden, now, outlook, [])["lasts_to"] == outlook.document["water"]["dry_by"]
    assert make_plan(garden, now, None, [])["lasts_to"] is None


def test_no_bed_that_it_will_rain_on_is_watered() -> None:
    garden = garden_of()
    now = state(garden, depletion_mm=0.0)
    plan = make_plan(garden, now, outlook_of(garden, now, rain_mm=12.0), [])
    assert not any(line["litres"] or line["days"] for line in plan["water"])


def test_without_an_outlook_a_bed_wants_what_it_lacks() -> None:
    garden = garden_of()
    plan = make_plan(garden, state(garden, depletion_mm=12.0), None, [])
    # 12 mm on 3 m² are 36 L, four cans of 9 L; tomatoes have a butt of their own.
    told = {line["bed"]: (line["cans"], line["litres"], line["from"]) for line in plan["water"]}
    assert told["tomatoes"] == (4.0, 36.0, "south")
    assert told["leeks"] == (4.0, 36.0, "north")
    # Less than half of the 18.2 mm that it can spare is let be.
    assert make_plan(garden, state(garden, depletion_mm=9.0), None, [])["water"] == []


def test_what_is_in_hand_is_of_the_levels_that_the_outlook_tells() -> None:
    garden = garden_of()
    now = state(garden, depletion_mm=12.0)
    # Each level is told to a tenth, so that 100.04 L and 100.04 L are 200.0 L and not 200.1 L.
    butts = tuple(replace(butt, volume_l=100.04) for butt in now.butts)
    plan = make_plan(garden, replace(now, butts=butts), None, [])
    dead_l = sum(butt.dead_volume for butt in garden.butt)
    assert plan["in_hand_l"] == pytest.approx(len(butts) * 100.0 - dead_l)


def test_feed_is_told_in_spoons_or_millilitres(plan: Json) -> None:
    (line,) = plan["feed"]
    # Nettles of 20 days: 30 (1 - exp(-0.02)) / (1 - exp(-0.014)) = 42.7, told as 1:60; 9 L / 61
    # are 147.5 mL, more than four tablespoons; a jug has a mark at 140 mL.
    assert (line["bed"], line["vessel"], line["dilution_parts"]) == ("tomatoes", "nettle", 60)
    assert (line["cans"], line["feed_ml"], line["spoons"]) == (1, 140.0, "140 mL")
    # Leeks planted on 2 July are not fed for four weeks (crop table, common practice).
    assert [unfed["bed"] for unfed in plan["unfed"]] == ["leeks"]
    assert "30 July" in plan["unfed"][0]["reason"]


@pytest.mark.parametrize(("litres", "filled"), [((150.0, 150.0), True), ((60.0, 40.0), False)])
def test_an_empty_vessel_is_filled_with_water_that_no_bed_needs(
    litres: tuple[float, float], *, filled: bool
) -> None:
    garden = garden_of()
    plan = make_plan(garden, state(garden, *litres), None, [])
    told = [(line["name"], line["do"], line["rainwater_l"]) for line in plan["vessels"]]
    # 40 L with 5 L left free. Both beds want 45 L: of 278 L above the taps 188 are left, of 78
    # hardly any.
    assert told == ([("spare", "fill", 35)] if filled else [])


def test_beds_without_known_weather_are_not_spoken_of() -> None:
    garden = garden_of()
    known = state(garden)
    unknown = replace(known, beds=())
    plan = make_plan(garden, unknown, None, [])
    assert plan["water"] == []
    assert [line["bed"] for line in plan["feed"]] == ["tomatoes"]
    documents.Plan.model_validate(plan)
