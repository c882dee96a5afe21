"""Roofs in a garden file: what runs off by their kind, and what is led away or held back."""

from __future__ import annotations

import pytest

from steepwell.garden.tables import RoofKind, reference_tables
from steepwell.garden.water import Roof

KINDS = reference_tables().roofs
SHED = {"name": "shed", "area": "12 m2", "into": "north"}


@pytest.mark.parametrize("kind", KINDS.values(), ids=KINDS)
def test_each_kind_of_roof_says_what_it_is_and_where_its_figure_comes_from(kind: RoofKind) -> None:
    assert kind.says
    assert "from memory" in kind.source


@pytest.mark.parametrize(
    ("said", "runoff"),
    [
        # EN 16941-1, surface yield coefficients, from memory.
        ({"kind": "smooth-pitched"}, 0.9),
        ({"kind": "rough-pitched"}, 0.8),
        ({"kind": "flat"}, 0.8),
        ({"kind": "flat-gravel"}, 0.7),
        ({"kind": "green-thin"}, 0.5),
        ({"kind": "green-deep"}, 0.3),
        ({"kind": "paved"}, 0.8),
        ({"kind": "unpaved"}, 0.5),
        # What is said of the roof itself goes before its kind.
        ({"kind": "green-deep", "runoff": "35 %"}, 0.35),
        ({"runoff": 0.7}, 0.7),
        # Common practice where nothing is known, no source.
        ({}, 0.85),
    ],
)
def test_the_runoff_coefficient_follows_from_what_is_said(
    said: dict[str, object], runoff: float
) -> None:
    assert Roof.model_validate({**SHED, **said}).runoff == pytest.approx(runoff)


def test_a_diverter_is_read_in_inner_units() -> None:
    said = {"first_flush": "7000 mL", "first_flush_after": "2 days", "flow_cap": "480 L/h"}
    roof = Roof.model_validate({**SHED, **said})
    assert roof.first_flush == pytest.approx(7.0)
    assert roof.first_flush_after == pytest.approx(48.0)
    assert roof.flow_cap == pytest.approx(8.0)


def test_nothing_is_led_away_or_held_back_unless_said() -> None:
    roof = Roof.model_validate(SHED)
    assert (roof.first_flush, roof.flow_cap, roof.filter_efficiency) == (0.0, None, 1.0)
