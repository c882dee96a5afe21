from __future__ import annotations

import json
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import jsonschema
import pytest
from pydantic import ValidationError

from steepwell.garden.load import garden_from
from steepwell.sense.client import ALIVE, GONE
from steepwell.store.notices import NoticeEvent
from steepwell.tell.posted import AlivePosted, posted_figures, posted_notice, schemas

if TYPE_CHECKING:
    from collections.abc import Callable

    from steepwell.garden.garden import Garden

Json = dict[str, Any]

EVENT: Json = {
    "id": "running-dry/water",
    "kind": "running-dry",
    "subject": "water",
    "event": "raised",
    "at": datetime(2031, 7, 20, 6, 0, tzinfo=UTC),
    "urgency": "Immediate",
    "severity": "Severe",
    "certainty": "Observed",
    "headline": "The butts are dry",
    "text": "There are 8 L above the taps.",
    "figures": {"above_tap_l": 8.0},
    "reason": "found for the first time",
}


def test_every_posted_message_is_what_its_schema_says(
    garden: Garden, outlook: Json, plan: Callable[..., Json], now: datetime
) -> None:
    posted = posted_figures(garden, outlook, plan(), now)
    known = schemas()
    for topic, payload in posted.items():
        jsonschema.validate(json.loads(payload), known[topic.split("/")[2]])
    assert sorted(posted) == [
        "steepwell/orchard-end/bed/beans",
        "steepwell/orchard-end/butt/north",
        "steepwell/orchard-end/butt/south",
        "steepwell/orchard-end/butt/west",
        "steepwell/orchard-end/outlook",
        "steepwell/orchard-end/plan",
        "steepwell/orchard-end/vessel/comfrey",
        "steepwell/orchard-end/vessel/leek",
    ]


def test_outlook_and_plan_are_posted_as_they_are(
    garden: Garden, outlook: Json, plan: Callable[..., Json], now: datetime
) -> None:
    posted = posted_figures(garden, outlook, plan(), now)
    assert json.loads(posted["steepwell/orchard-end/outlook"]) == outlook
    assert json.loads(posted["steepwell/orchard-end/plan"]) == plan()


def test_what_lies_below_a_tap_is_not_counted_above_it(
    garden_raw: Json, outlook: Json, now: datetime
) -> None:
    garden_raw["butt"][0]["dead_volume"] = "10 L"
    garden_raw["butt"][1]["dead_volume"] = "100 L"
    posted = posted_figures(garden_from(garden_raw), outlook, None, now)
    north, south = (
        json.loads(posted[f"steepwell/orchard-end/butt/{name}"]) for name in ("north", "south")
    )
    assert (north["litres"], north["litres_above_tap"]) == (143.2, pytest.approx(133.2))
    assert (south["litres"], south["litres_above_tap"]) == (96.8, 0.0)


def test_a_bed_carries_what_the_plan_gives_it(
    garden: Garden, outlook: Json, plan: Callable[..., Json], now: datetime
) -> None:
    topic = "steepwell/orchard-end/bed/beans"
    with_plan = json.loads(posted_figures(garden, outlook, plan(), now)[topic])
    without = json.loads(posted_figures(garden, outlook, None, now)[topic])
    assert (with_plan["water_l"], with_plan["water_days"]) == (45, ["2031-06-08", "2031-06-11"])
    assert (without["water_l"], without["water_days"], without["reason"]) == (None, [], None)


def test_without_an_outlook_only_the_plan_is_posted(
    garden: Garden, plan: Callable[..., Json], now: datetime
) -> None:
    posted = posted_figures(garden, None, plan(lasts_to=None), now)
    assert list(posted) == ["steepwell/orchard-end/plan"]


def test_a_document_that_is_none_is_not_posted(
    garden: Garden, outlook: Json, now: datetime
) -> None:
    del outlook["water"]
    with pytest.raises(ValidationError, match="water"):
        posted_figures(garden, outlook, None, now)


@pytest.mark.parametrize("event", ["raised", "changed", "reminded"])
def test_a_standing_notice_is_what_its_schema_says(garden: Garden, event: str) -> None:
    topic, payload = posted_notice(garden, NoticeEvent(**{**EVENT, "event": event}))
    message = json.loads(payload)
    jsonschema.validate(message, schemas()["notice"])
    assert topic == "steepwell/orchard-end/notice/running-dry/water"
    assert message["figures"] == {"above_tap_l": 8.0}
    assert "reason" not in message


def test_a_notice_that_is_over_is_taken_off_the_broker(garden: Garden) -> None:
    topic, payload = posted_notice(garden, NoticeEvent(**{**EVENT, "event": "cleared"}))
    assert (topic, payload) == ("steepwell/orchard-end/notice/running-dry/water", b"")


@pytest.mark.parametrize(("payload", "alive"), [(ALIVE, True), (GONE, False)])
def test_the_sign_of_life_is_what_its_schema_says(payload: bytes, *, alive: bool) -> None:
    message = json.loads(payload)
    jsonschema.validate(message, schemas()["alive"])
    assert message == json.loads(AlivePosted(alive=alive).payload())


def test_every_schema_is_a_schema() -> None:
    for schema in schemas().values():
        jsonschema.Draft202012Validator.check_schema(schema)
        assert "schema" in schema["required"]
