"""Depth and volume of straight-sided stores, each the inverse of the other."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

from steepwell.model.bounds import clip, require_positive

LITRES_A_M3 = 1000.0


class Shape(Protocol):
    """A store whose depth tells its volume; both are clipped to between empty and full."""

    @property
    def capacity_l(self) -> float:
        """Volume when full [L]."""
        ...

    @property
    def height_m(self) -> float:
        """Depth when full [m]."""
        ...

    def volume_l(self, depth_m: float) -> float:
        """Return the volume at a depth.

        Parameters
        ----------
        depth_m
            Depth above the lowest point inside [m].

        Returns
        -------
        float
            Volume [L].
        """
        ...

    def depth_m(self, volume_l: float) -> float:
        """Return the depth at a volume.

        Parameters
        ----------
        volume_l
            Volume [L].

        Returns
        -------
        float
            Depth above the lowest point inside [m].
        """
        ...


@dataclass(frozen=True, slots=True)
class UprightCylinder:
    """A straight round butt.

    Parameters
    ----------
    diameter_m
        Inner diameter [m].
    height_m
        Depth to the overflow [m].

    Raises
    ------
    ValueError
        If a size is not positive.
    """

    diameter_m: float
    height_m: float

    def __post_init__(self) -> None:
        require_positive(diameter_m=self.diameter_m, height_m=self.height_m)

    @property
    def capacity_l(self) -> float:
        """Volume when full [L]."""
        return self._litres_a_m * self.height_m

    @property
    def _litres_a_m(self) -> float:
        return LITRES_A_M3 * math.pi / 4.0 * self.diameter_m**2

    def volume_l(self, depth_m: float) -> float:
        """Return the volume [L] at a depth [m]."""
        return clip(depth_m, self.height_m) * self._litres_a_m

    def depth_m(self, volume_l: float) -> float:
        """Return the depth [m] at a volume [L]."""
        return clip(volume_l, self.capacity_l) / self._litres_a_m


@dataclass(frozen=True, slots=True)
class ConeFrustum:
    """A round butt that widens, or narrows, evenly upwards.

    Parameters
    ----------
    bottom_diameter_m, top_diameter_m
        Inner diameter at the bottom and at the overflow [m].
    height_m
        Depth to the overflow [m].

    Raises
    ------
    ValueError
        If a size is not positive.
    """

    bottom_diameter_m: float
    top_diameter_m: float
    height_m: float

    def __post_init__(self) -> None:
        require_positive(
            bottom_diameter_m=self.bottom_diameter_m,
            top_diameter_m=self.top_diameter_m,
            height_m=self.height_m,
        )

    @property
    def capacity_l(self) -> float:
        """Volume when full [L]."""
        return self.volume_l(self.height_m)

    @property
    def _widening(self) -> float:
        """Growth of the radius with depth [m/m]."""
        return (self.top_diameter_m - self.bottom_diameter_m) / 2.0 / self.height_m

    def volume_l(self, depth_m: float) -> float:
        """Return the volume [L] at a depth [m]."""
        depth = clip(depth_m, self.height_m)
        bottom = self.bottom_diameter_m / 2.0
        radius = bottom + self._widening * depth
        squares = bottom**2 + bottom * radius + radius**2
        return LITRES_A_M3 * math.pi / 3.0 * depth * squares

    def depth_m(self, volume_l: float) -> float:
        """Return the depth [m] at a volume [L]."""
        base = 3.0 / math.pi / LITRES_A_M3 * clip(volume_l, self.capacity_l)
        bottom = self.bottom_diameter_m / 2.0
        radius = math.cbrt(bottom**3 + self._widening * base)
        return clip(base / (bottom**2 + bottom * radius + radius**2), self.height_m)


@dataclass(frozen=True, slots=True)
class Box:
    """A tank with upright sides and a rectangular floor.

    Parameters
    ----------
    length_m, width_m
        Inner sides of the floor [m].
    height_m
        Depth to the overflow [m].

    Raises
    ------
    ValueError
        If a size is not positive.
    """

    length_m: float
    width_m: float
    height_m: float

    def __post_init__(self) -> None:
        require_positive(length_m=self.length_m, width_m=self.width_m, height_m=self.height_m)

    @property
    def capacity_l(self) -> float:
        """Volume when full [L]."""
        return self._litres_a_m * self.height_m

    @property
    def _litres_a_m(self) -> float:
        return LITRES_A_M3 * self.length_m * self.width_m

    def volume_l(self, depth_m: float) -> float:
        """Return the volume [L] at a depth [m]."""
        return clip(depth_m, self.height_m) * self._litres_a_m

    def depth_m(self, volume_l: float) -> float:
        """Return the depth [m] at a volume [L]."""
        return clip(volume_l, self.capacity_l) / self._litres_a_m


@dataclass(frozen=True, slots=True)
class Labelled:
    """A store of which only the litres on its label are known; its depth is the share of full.

    Parameters
    ----------
    capacity_l
        Volume when full [L].

    Raises
    ------
    ValueError
        If the capacity is not positive.
    """

    capacity_l: float

    def __post_init__(self) -> None:
        require_positive(capacity_l=self.capacity_l)

    @property
    def height_m(self) -> float:
        """Share of full when full, which is 1 [-]."""
        return 1.0

    def volume_l(self, depth_m: float) -> float:
        """Return the volume [L] at a share of full [-]."""
        return clip(depth_m, self.height_m) * self.capacity_l

    def depth_m(self, volume_l: float) -> float:
        """Return the share of full [-] at a volume [L]."""
        return clip(volume_l, self.capacity_l) / self.capacity_l
