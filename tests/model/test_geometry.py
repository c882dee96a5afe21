"""Stores: every shape turns round, grows upwards and is clipped."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from steepwell.model.geometry import Box, ConeFrustum, Labelled, Shape, UprightCylinder
from steepwell.model.geometry_curved import Barrel, HorizontalCylinder, StrappingTable

if TYPE_CHECKING:
    from collections.abc import Callable

ROUND_TRIP = 1e-9

SHAPES = [
    UprightCylinder(diameter_m=0.58, height_m=0.9),
    ConeFrustum(bottom_diameter_m=0.45, top_diameter_m=0.55, height_m=0.9),
    ConeFrustum(bottom_diameter_m=0.55, top_diameter_m=0.45, height_m=0.9),
    ConeFrustum(bottom_diameter_m=0.5, top_diameter_m=0.5, height_m=0.9),
    Box(length_m=1.2, width_m=1.0, height_m=1.0),
    HorizontalCylinder(diameter_m=0.58, length_m=0.88),
    Barrel(end_diameter_m=0.46, middle_diameter_m=0.56, height_m=0.88),
    StrappingTable(depths_m=(0.0, 0.2, 0.5, 0.9), volumes_l=(0.0, 30.0, 95.0, 210.0)),
    Labelled(capacity_l=210.0),
]
shapes = pytest.mark.parametrize("shape", SHAPES, ids=repr)


@shapes
@given(share=st.floats(0.0, 1.0))
def test_volume_to_depth_and_back(shape: Shape, share: float) -> None:
    wanted = share * shape.capacity_l
    assert shape.volume_l(shape.depth_m(wanted)) == pytest.approx(
        wanted, abs=ROUND_TRIP * shape.capacity_l
    )


@shapes
@given(share=st.floats(0.001, 0.999))
def test_depth_to_volume_and_back(shape: Shape, share: float) -> None:
    wanted = share * shape.height_m
    assert shape.depth_m(shape.volume_l(wanted)) == pytest.approx(wanted, abs=1e-9)


@shapes
def test_volume_grows_with_depth(shape: Shape) -> None:
    volumes = [shape.volume_l(share / 200.0 * shape.height_m) for share in range(201)]
    assert all(lower < upper for lower, upper in pairwise(volumes))


@shapes
def test_clipped_between_empty_and_full(shape: Shape) -> None:
    assert shape.volume_l(-0.3) == pytest.approx(0.0, abs=1e-12)
    assert shape.volume_l(shape.height_m + 1.0) == pytest.approx(shape.capacity_l)
    assert shape.depth_m(-5.0) == pytest.approx(0.0, abs=1e-12)
    assert shape.depth_m(shape.capacity_l + 5.0) == pytest.approx(shape.height_m)


@given(radius=st.floats(0.05, 2.0), height=st.floats(0.05, 3.0))
def test_a_barrel_without_a_belly_is_a_cylinder(radius: float, height: float) -> None:
    barrel = Barrel(2.0 * radius, 2.0 * radius, height)
    assert barrel.volume_l(height / 3.0) == pytest.approx(1000.0 * math.pi * radius**2 * height / 3)


def test_straight_sides_by_hand() -> None:
    assert Box(length_m=1.2, width_m=0.5, height_m=0.8).volume_l(0.3) == pytest.approx(180.0)
    cylinder = UprightCylinder(diameter_m=2.0, height_m=1.0)
    assert cylinder.volume_l(0.5) == pytest.approx(500.0 * math.pi)
    assert Labelled(capacity_l=210.0).volume_l(0.5) == pytest.approx(105.0)


def test_a_strapping_table_is_straight_between_its_rows() -> None:
    table = StrappingTable(depths_m=(0.0, 0.2, 0.6), volumes_l=(0.0, 40.0, 100.0))
    assert table.volume_l(0.4) == pytest.approx(70.0)  # half way from 40 to 100, by hand


@pytest.mark.parametrize(
    ("kind", "sizes", "named"),
    [
        (UprightCylinder, (0.0, 0.9), "diameter_m"),
        (UprightCylinder, (0.5, math.inf), "height_m"),
        (ConeFrustum, (0.4, -0.5, 0.9), "top_diameter_m"),
        (Box, (1.0, 0.0, 1.0), "width_m"),
        (HorizontalCylinder, (0.5, math.nan), "length_m"),
        (Barrel, (0.0, 0.5, 0.9), "end_diameter_m"),
        (Barrel, (0.6, 0.5, 0.9), "middle"),
        (StrappingTable, ((0.0,), (0.0,)), "two rows"),
        (StrappingTable, ((0.0, 0.1), (0.0, 1.0, 2.0)), "two rows"),
        (StrappingTable, ((0.1, 0.2), (0.0, 1.0)), "from 0"),
        (StrappingTable, ((0.0, 0.2, 0.2), (0.0, 1.0, 2.0)), "rises"),
        (StrappingTable, ((0.0, 0.2, 0.3), (0.0, 2.0, 1.0)), "rises"),
        (Labelled, (-1.0,), "capacity_l"),
    ],
)
def test_a_shape_that_cannot_be_is_refused(
    kind: Callable[..., Shape], sizes: tuple[object, ...], named: str
) -> None:
    with pytest.raises(ValueError, match=named):
        kind(*sizes)
