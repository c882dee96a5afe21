"""Litres and depths of a butt, by adding up slices of its cross-section."""

from __future__ import annotations

import math
from bisect import bisect_right
from itertools import accumulate
from typing import TYPE_CHECKING

from steepwell.garden.water import (
    BarrelShape,
    BoxShape,
    Butt,
    ConeFrustumShape,
    HorizontalCylinderShape,
    StrappingTableShape,
    UprightCylinderShape,
)

if TYPE_CHECKING:
    from collections.abc import Callable

SLICES = 1000
LABELLED_HEIGHT_M = 0.9


class Gauging:
    """Litres at depths, straight between them.

    Parameters
    ----------
    depths_m, volumes_l
        Rising, from 0.
    """

    def __init__(self, depths_m: list[float], volumes_l: list[float]) -> None:
        self._depths_m = depths_m
        self._volumes_l = volumes_l
        self.capacity_l = volumes_l[-1]
        self.height_m = depths_m[-1]

    def depth_m(self, volume_l: float) -> float:
        """Return the depth at which it holds so many litres [m]."""
        return _interpolate(self._volumes_l, self._depths_m, volume_l)

    def volume_l(self, depth_m: float) -> float:
        """Return what it holds at a depth [L]."""
        return _interpolate(self._depths_m, self._volumes_l, depth_m)


def gauging_of(butt: Butt) -> Gauging:
    """Return the litres at every depth of a butt as declared.

    Parameters
    ----------
    butt
        With a shape, or the litres on its label: then taken as upright and 0.9 m high.

    Returns
    -------
    Gauging
        From empty to full.
    """
    if butt.shape is None:
        return Gauging([0.0, LABELLED_HEIGHT_M], [0.0, butt.litres or 0.0])
    if isinstance(butt.shape, StrappingTableShape):
        return Gauging([0.0, *butt.shape.depths], [0.0, *butt.shape.litres])
    height_m, area_m2 = _cross_section(butt.shape)
    step_m = height_m / SLICES
    slices_l = (1000 * step_m * area_m2((index + 0.5) * step_m) for index in range(SLICES))
    depths_m = [index * step_m for index in range(SLICES)] + [height_m]
    return Gauging(depths_m, [0.0, *accumulate(slices_l)])


def _cross_section(
    shape: UprightCylinderShape
    | ConeFrustumShape
    | BoxShape
    | HorizontalCylinderShape
    | BarrelShape,
) -> tuple[float, Callable[[float], float]]:
    """Return the height [m] and the area [m²] at each height."""
    match shape:
        case UprightCylinderShape():
            area = _disc(shape.diameter)
            return shape.height, lambda _: area
        case BoxShape():
            floor = shape.length * shape.width
            return shape.height, lambda _: floor
        case HorizontalCylinderShape():
            across, length = shape.diameter, shape.length
            return across, lambda h: 2 * math.sqrt(max(0.0, h * (across - h))) * length
        case ConeFrustumShape():
            low, widening = shape.bottom_diameter, shape.top_diameter - shape.bottom_diameter
            high = shape.height
            return high, lambda h: _disc(low + widening * h / high)
        case BarrelShape():
            middle, bulge = shape.middle_diameter, shape.middle_diameter - shape.end_diameter
            tall = shape.height
            return tall, lambda h: _disc(middle - bulge * (2 * h / tall - 1) ** 2)


def _disc(diameter_m: float) -> float:
    return math.pi / 4 * diameter_m**2


def _interpolate(xs: list[float], ys: list[float], x: float) -> float:
    if x <= xs[0]:
        return ys[0]
    if x >= xs[-1]:
        return ys[-1]
    index = bisect_right(xs, x)
    left, right = xs[index - 1], xs[index]
    return ys[index - 1] + (ys[index] - ys[index - 1]) * (x - left) / (right - left)
