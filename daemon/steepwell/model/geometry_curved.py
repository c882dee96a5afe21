"""Depth and volume of lying, bellied and odd-shaped stores, each the inverse of the other."""

from __future__ import annotations

import math
from bisect import bisect_right
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from steepwell.model.bounds import clip, require_positive
from steepwell.model.geometry import LITRES_A_M3

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

# Halvings after which an interval is narrower than the last digit of a float.
HALVINGS = 60


def _invert(volume: Callable[[float], float], wanted_l: float, height_m: float) -> float:
    """Halve the depth in which a growing volume reaches the one wanted."""
    low, width = 0.0, height_m
    for _ in range(HALVINGS):
        width /= 2.0
        if volume(low + width) <= wanted_l:
            low += width
    return low


def _between(value: float, column: Sequence[float], other: Sequence[float]) -> float:
    """Return what stands in the other column at a value, on a straight line between two rows."""
    value = clip(value, column[-1])
    row = min(bisect_right(column, value), len(column) - 1)
    share = (value - column[row - 1]) / (column[row] - column[row - 1])
    return other[row - 1] + share * (other[row] - other[row - 1])


@dataclass(frozen=True, slots=True)
class HorizontalCylinder:
    """A drum that lies on its side.

    Parameters
    ----------
    diameter_m
        Inner diameter, which is its depth when full [m].
    length_m
        Inner length [m].

    Raises
    ------
    ValueError
        If a size is not positive.
    """

    diameter_m: float
    length_m: float

    def __post_init__(self) -> None:
        require_positive(diameter_m=self.diameter_m, length_m=self.length_m)

    @property
    def capacity_l(self) -> float:
        """Volume when full [L]."""
        return LITRES_A_M3 * math.pi / 4.0 * self.diameter_m**2 * self.length_m

    @property
    def height_m(self) -> float:
        """Depth when full [m]."""
        return self.diameter_m

    def volume_l(self, depth_m: float) -> float:
        """Return the volume [L] at a depth [m]."""
        depth = clip(depth_m, self.diameter_m)
        radius = self.diameter_m / 2.0
        above = self.diameter_m - depth
        # Half the angle of the wetted arc; an arc cosine would lose digits at both ends.
        half_angle = math.atan2(math.sqrt(depth), math.sqrt(above))
        triangle = (radius - depth) * math.sqrt(depth * above)
        return LITRES_A_M3 * self.length_m * (2.0 * half_angle * radius**2 - triangle)

    def depth_m(self, volume_l: float) -> float:
        """Return the depth [m] at a volume [L]."""
        return _invert(self.volume_l, clip(volume_l, self.capacity_l), self.height_m)


@dataclass(frozen=True, slots=True)
class Barrel:
    """An upright cask whose staves are bent to parabolas.

    Parameters
    ----------
    end_diameter_m, middle_diameter_m
        Inner diameter at both ends and, no less, half way up [m].
    height_m
        Inner height [m].

    Raises
    ------
    ValueError
        If a size is not positive, or the barrel is wider at the ends.
    """

    end_diameter_m: float
    middle_diameter_m: float
    height_m: float

    def __post_init__(self) -> None:
        require_positive(end_diameter_m=self.end_diameter_m, height_m=self.height_m)
        if not self.end_diameter_m <= self.middle_diameter_m < math.inf:
            raise ValueError("a barrel is at least as wide in the middle as at its ends")

    @property
    def capacity_l(self) -> float:
        """Volume when full [L]."""
        return self.volume_l(self.height_m)

    def volume_l(self, depth_m: float) -> float:
        """Return the volume [L] at a depth [m]."""
        middle = self.middle_diameter_m
        bulge = middle - self.end_diameter_m
        across = clip(depth_m, self.height_m) * (2.0 / self.height_m) - 1.0
        whole = middle**2 * (across + 1.0)
        once = 2.0 / 3.0 * middle * bulge * (across**3 + 1.0)
        twice = bulge**2 / 5.0 * (across**5 + 1.0)
        return LITRES_A_M3 * math.pi / 8.0 * self.height_m * (whole - once + twice)

    def depth_m(self, volume_l: float) -> float:
        """Return the depth [m] at a volume [L]."""
        return _invert(self.volume_l, clip(volume_l, self.capacity_l), self.height_m)


@dataclass(frozen=True, slots=True)
class StrappingTable:
    """A store of any form, measured out: litres at some depths, a straight line between them.

    Straight lines never overshoot, rise wherever the table rises, and turn round exactly.

    Parameters
    ----------
    depths_m
        Depths, rising from 0 [m].
    volumes_l
        Volumes at these depths, rising from 0 [L].

    Raises
    ------
    ValueError
        If the columns differ in length, hold fewer than two rows, or do not rise from 0.
    """

    depths_m: tuple[float, ...]
    volumes_l: tuple[float, ...]

    def __post_init__(self) -> None:
        if len(self.depths_m) != len(self.volumes_l) or len(self.depths_m) < len(("empty", "full")):
            raise ValueError("a strapping table needs two rows or more, of a depth and a volume")
        for column in (self.depths_m, self.volumes_l):
            if column[0] != 0.0 or not all(lower < upper for lower, upper in pairwise(column)):
                raise ValueError(f"a strapping table rises from 0 at each row: {column}")

    @property
    def capacity_l(self) -> float:
        """Volume when full [L]."""
        return self.volumes_l[-1]

    @property
    def height_m(self) -> float:
        """Depth when full [m]."""
        return self.depths_m[-1]

    def volume_l(self, depth_m: float) -> float:
        """Return the volume [L] at a depth [m]."""
        return _between(depth_m, self.depths_m, self.volumes_l)

    def depth_m(self, volume_l: float) -> float:
        """Return the depth [m] at a volume [L]."""
        return _between(volume_l, self.volumes_l, self.depths_m)
