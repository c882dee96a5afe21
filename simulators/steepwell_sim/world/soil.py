"""The soil of a bed in two layers: a top that dries to the air and the root zone below it."""

from __future__ import annotations

import math
from dataclasses import dataclass

_COMPENSATION = 0.8
_TOP_ROOTS = 1.2


@dataclass(frozen=True, slots=True)
class Texture:
    """What a soil holds [m³/m³]."""

    field_capacity: float
    wilting_point: float

    @property
    def air_dry(self) -> float:
        """What evaporation leaves behind [m³/m³]."""
        return self.wilting_point / 2


class Soil:
    """Water in a top layer, in the rooted soil below it, and in the soil no root has reached.

    Rain and can water fill the top to field capacity, then what lies below, then drain away.

    Parameters
    ----------
    texture
        Of the whole bed.
    top_m, floor_m, rooted_m
        Depth of the top layer, of the deepest soil counted, and of the roots at first [m].
    """

    def __init__(self, texture: Texture, *, top_m: float, floor_m: float, rooted_m: float) -> None:
        self._texture = texture
        self._top_m = top_m
        self._floor_m = max(top_m, floor_m)
        self.rooted_m = min(self._floor_m, max(top_m, rooted_m))
        self.top_mm = self._full(top_m)
        self.below_mm = self._full(self.rooted_m - top_m)
        self.unrooted_mm = self._full(self._floor_m - self.rooted_m)

    def _full(self, thickness_m: float) -> float:
        return 1000 * self._texture.field_capacity * thickness_m

    @property
    def water_mm(self) -> float:
        """All the water down to the deepest soil counted [mm]."""
        return self.top_mm + self.below_mm + self.unrooted_mm

    @property
    def depletion_mm(self) -> float:
        """What the rooted soil, top included, lacks to field capacity [mm]."""
        return self._full(self.rooted_m) - self.top_mm - self.below_mm

    def root_to(self, depth_m: float) -> None:
        """Move the lower end of the roots; the water stays where it is."""
        depth_m = min(self._floor_m, max(self._top_m, depth_m))
        if depth_m > self.rooted_m:
            unrooted_m = self._floor_m - self.rooted_m
            moved = self.unrooted_mm * (depth_m - self.rooted_m) / unrooted_m
        elif depth_m < self.rooted_m:
            moved = -self.below_mm * (self.rooted_m - depth_m) / (self.rooted_m - self._top_m)
        else:
            return
        self.below_mm += moved
        self.unrooted_mm -= moved
        self.rooted_m = depth_m

    def wet(self, water_mm: float) -> float:
        """Let water sink in and return what drains away below [mm]."""
        room = max(0.0, self._full(self._top_m) - self.top_mm)
        held = min(water_mm, room)
        self.top_mm += held
        water_mm -= held
        room = max(0.0, self._full(self.rooted_m - self._top_m) - self.below_mm)
        held = min(water_mm, room)
        self.below_mm += held
        water_mm -= held
        room = max(0.0, self._full(self._floor_m - self.rooted_m) - self.unrooted_mm)
        held = min(water_mm, room)
        self.unrooted_mm += held
        return water_mm - held

    def evaporate(self, demand_mm: float) -> float:
        """Dry the top layer and return the water lost to the air [mm].

        Parameters
        ----------
        demand_mm
            What a wet surface would lose [mm].

        Returns
        -------
        float
            Evaporation [mm].

        References
        ----------
        Lee and Pielke (1992), Journal of Applied Meteorology 31, 480-484 (from memory): the share
        is a quarter of (1 - cos(π θ/θ_fc))², 1 at field capacity.
        """
        wetness = min(1.0, self.top_mm / self._full(self._top_m))
        share = 0.25 * (1 - math.cos(math.pi * wetness)) ** 2
        dry_mm = 1000 * self._texture.air_dry * self._top_m
        lost = min(demand_mm * share, max(0.0, self.top_mm - dry_mm))
        self.top_mm -= lost
        return lost

    def transpire(self, demand_mm: float, easy_share: float) -> float:
        """Let roots take up water and return what they got [mm].

        Parameters
        ----------
        demand_mm
            What a crop that lacks nothing takes up [mm].
        easy_share
            Share of the available water that is taken up without effort (``p`` of FAO-56).

        Returns
        -------
        float
            Uptake [mm]; roots in the wetter layer make up for those in the drier one.

        References
        ----------
        Jarvis (1989), Journal of Hydrology 107, 57-72 (from memory), with a threshold of 0.8.
        """
        below_m = self.rooted_m - self._top_m
        top_roots = min(1.0, _TOP_ROOTS * self._top_m / self.rooted_m) if below_m > 0 else 1.0
        top_mm = self._available(self.top_mm, self._top_m)
        below_mm = self._available(self.below_mm, below_m)
        from_top = top_roots * self._ease(top_mm, self._top_m, easy_share)
        from_below = (1 - top_roots) * self._ease(below_mm, below_m, easy_share)
        ease = from_top + from_below
        if ease <= 0:
            return 0.0
        uptake = demand_mm * min(1.0, ease / _COMPENSATION)
        of_top = min(top_mm, uptake * from_top / ease)
        of_below = min(below_mm, uptake * from_below / ease)
        self.top_mm -= of_top
        self.below_mm -= of_below
        return of_top + of_below

    def _available(self, water_mm: float, thickness_m: float) -> float:
        return max(0.0, water_mm - 1000 * self._texture.wilting_point * thickness_m)

    def _ease(self, available_mm: float, thickness_m: float, easy_share: float) -> float:
        if thickness_m <= 0:
            return 0.0
        held = self._texture.field_capacity - self._texture.wilting_point
        return min(1.0, available_mm / (1000 * held * thickness_m) / (1 - easy_share))
