from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from steepwell.tell.cautions import cautions
from steepwell.tell.documents import Plan

if TYPE_CHECKING:
    from collections.abc import Callable

    from steepwell.garden.garden import Garden

Json = dict[str, Any]
NOTHING: Json = {"water": [], "feed": [], "unfed": [], "vessels": [], "mulch": []}
WORDS = {
    "never spray": {"water", "feed"},
    "not for drinking": {"water", "feed"},
    "gloves": {"feed"},
    "eaten raw": {"feed"},
    "People at risk": {"feed"},
    "never seal it tight": {"vessels"},
    "healthy plants": {"vessels"},
    "Nothing of a vessel": {"feed", "vessels"},
    "clear of stems": {"mulch"},
    "siphons": {"tap_l"},
    "Local watering rules": {"water", "vessels", "tap_l"},
}


@pytest.mark.parametrize("advice", ["water", "feed", "vessels", "mulch", "tap_l"])
def test_a_caution_is_given_with_the_advice_it_goes_with(
    garden: Garden, plan: Callable[..., Json], advice: str
) -> None:
    only = plan(**{**NOTHING, advice: 40 if advice == "tap_l" else plan()[advice]})
    told = " ".join(cautions(garden, Plan.model_validate(only)))
    for words, where in WORDS.items():
        assert (words in told) == (advice in where), words


def test_without_advice_there_is_no_caution(garden: Garden, plan: Callable[..., Json]) -> None:
    assert cautions(garden, Plan.model_validate(plan(**NOTHING))) == []


@pytest.mark.parametrize(("bed", "told"), [("seedlings", True), ("beans", False)])
def test_seedlings_are_kept_from_old_butt_water(
    garden: Garden,
    plan: Callable[..., Json],
    water: Callable[..., Json],
    bed: str,
    *,
    told: bool,
) -> None:
    week = Plan.model_validate(plan(water=[water(bed=bed)]))
    assert any("old butt water" in line for line in cautions(garden, week)) == told


def test_a_vessel_that_is_only_topped_up_needs_no_word_on_filling(
    garden: Garden, plan: Callable[..., Json]
) -> None:
    topped = [{**plan()["vessels"][0], "do": "top up", "matter": None}]
    told = " ".join(cautions(garden, Plan.model_validate(plan(**{**NOTHING, "vessels": topped}))))
    assert "Only healthy plants" not in told
    assert "Nothing of a vessel" in told
