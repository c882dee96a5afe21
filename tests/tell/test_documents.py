from __future__ import annotations

import copy
from typing import TYPE_CHECKING, Any

import jsonschema
import pytest
from pydantic import ValidationError

from steepwell.tell.documents import Outlook, Plan
from steepwell.tell.posted import schemas

if TYPE_CHECKING:
    from collections.abc import Callable

Json = dict[str, Any]


def test_an_outlook_is_what_its_schema_says(outlook: Json) -> None:
    jsonschema.validate(outlook, schemas()["outlook"])


def test_a_plan_is_what_its_schema_says(plan: Callable[..., Json]) -> None:
    jsonschema.validate(plan(), schemas()["plan"])


def test_a_plan_without_an_outlook_is_a_plan(plan: Callable[..., Json]) -> None:
    document = plan(lasts_to=None, in_hand_l=None)
    jsonschema.validate(document, schemas()["plan"])
    assert Plan.model_validate(document).lasts_to is None


def test_a_vessel_in_which_nothing_steeps_is_told_too(outlook: Json) -> None:
    outlook["vessels"][0] |= {
        "thermal_age_d": None,
        "dilution_parts": None,
        "ready": None,
        "dilution_on": {},
    }
    jsonschema.validate(outlook, schemas()["outlook"])
    assert Outlook.model_validate(outlook).vessels[0].ready is None


@pytest.mark.parametrize("key", ["schema", "issued", "days", "butts", "water", "vessels"])
def test_an_outlook_without_one_of_its_keys_is_refused(outlook: Json, key: str) -> None:
    del outlook[key]
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(outlook, schemas()["outlook"])


@pytest.mark.parametrize("key", ["issued", "week", "lasts_to", "water", "feed", "tap_l"])
def test_a_plan_without_one_of_its_keys_is_refused(plan: Callable[..., Json], key: str) -> None:
    document = plan()
    del document[key]
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(document, schemas()["plan"])
    with pytest.raises(ValidationError):
        Plan.model_validate(document)


def test_a_document_of_another_schema_is_refused(outlook: Json) -> None:
    with pytest.raises(ValidationError):
        Outlook.model_validate({**outlook, "schema": 2})


def test_what_a_later_version_adds_is_passed_over(outlook: Json) -> None:
    newer = copy.deepcopy(outlook)
    newer["spi"] = {"3": -1.2}
    jsonschema.validate(newer, schemas()["outlook"])
    assert Outlook.model_validate(newer) == Outlook.model_validate(outlook)


def test_the_butts_together_are_the_water_in_hand(outlook: Json) -> None:
    ahead = Outlook.model_validate(outlook)
    # 143.2 + 96.8 + 70.0 and three of 210.
    assert ahead.now_l == pytest.approx(310.0)
    assert ahead.capacity_l == pytest.approx(630.0)


def test_a_bed_without_cans_is_left_dry(
    plan: Callable[..., Json], water: Callable[..., Json]
) -> None:
    lines = [
        water(bed="beans"),
        water(bed="pots", daily_l=2, cans=None, litres=0),
        water(bed="onions", stop=True),
        water(bed="leeks", cans=0, litres=0, days=[]),
    ]
    week = Plan.model_validate(plan(water=lines))
    assert [line.bed for line in week.watered] == ["beans", "pots"]
    assert [line.bed for line in week.left_dry] == ["onions", "leeks"]
