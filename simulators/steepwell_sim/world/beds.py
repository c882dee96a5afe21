"""Beds: what grows, what it takes up, and what it loses by thirst."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from steepwell.garden.tables import Crop, reference_tables
from steepwell_sim.world.calendar import Planting, Stage, plantings, stage_on
from steepwell_sim.world.soil import Soil, Texture

if TYPE_CHECKING:
    from steepwell.garden.growing import Bed

_TOP_M = 0.12
_BARE_ROOTED_M = 0.3
_CONTAINER_M = {"pot": 0.30, "tray": 0.10}
_SHADE_PER_LEAF_AREA = 0.4
_WET_SOIL = 1.1
_MOST_OF_ALL = 1.25
_MULCH_SAVES = 0.5
_LEAST_KCB = 0.05


@dataclass(slots=True)
class Thirst:
    """Water a crop used and would have used, since it was planted.

    Attributes
    ----------
    ky
        Loss of yield for each share of water missing.
    used_mm, wanted_mm
        Evapotranspiration as it was and as it would be if it lacked nothing [mm].
    """

    ky: float
    used_mm: float = 0.0
    wanted_mm: float = 0.0

    @property
    def loss(self) -> float:
        """The share of the yield that is lost: Ky (1 - ΣETa/ΣETc)."""
        if self.wanted_mm <= 0:
            return 0.0
        return min(1.0, max(0.0, self.ky * (1 - self.used_mm / self.wanted_mm)))


class TrueBed:
    """A bed with its own soil and its crops' own thirst.

    Parameters
    ----------
    declared
        As in the garden file.
    soil_factor, crop_factor
        What the soil holds and what crops use, against the tables.
    first_year, last_year
        Years in which its crops are planted.
    """

    def __init__(
        self,
        declared: Bed,
        *,
        soil_factor: float,
        crop_factor: float,
        first_year: int,
        last_year: int,
    ) -> None:
        self.declared = declared
        self._crop_factor = crop_factor
        self._plantings = plantings(declared.crops, first_year, last_year)
        self.soil = _true_soil(declared, soil_factor)
        self._planting: Planting | None = None
        self._crop: Crop | None = None
        self._stage: Stage | None = None
        self.thirst: list[Thirst] = []
        self.drained_mm = 0.0
        self.lost_to_air_mm = 0.0

    @property
    def growing(self) -> bool:
        """Whether a crop stands in it."""
        return self._planting is not None

    @property
    def loss(self) -> float:
        """Loss of the crop that stands in it, or stood last; 0 where none has."""
        return self.thirst[-1].loss if self.thirst else 0.0

    @property
    def loss_of_all(self) -> float:
        """Loss of all its crops, each by the water it wanted."""
        wanted_mm = sum(thirst.wanted_mm for thirst in self.thirst)
        if wanted_mm <= 0:
            return 0.0
        return sum(thirst.loss * thirst.wanted_mm for thirst in self.thirst) / wanted_mm

    def forget_cleared(self) -> None:
        """Forget the crops that stand in it no longer."""
        self.thirst = self.thirst[-1:] if self.growing else []

    def plant(self, crop: str, day: date) -> None:
        """Plant a crop that the garden file does not name for this day."""
        reference_tables().crop(crop)
        self._plantings.append(Planting(crop, day, date.max))
        self.begin_day(day)

    def clear(self, day: date) -> None:
        """Clear what stands in it."""
        if self._planting is not None:
            self._plantings.remove(self._planting)
        self.begin_day(day)

    def begin_day(self, day: date) -> None:
        """Let crops be planted, grow by a day, or be cleared."""
        standing = [one for one in self._plantings if one.planted <= day < one.cleared]
        planting = standing[-1] if standing else None
        if planting is None:
            self._crop = self._stage = None
        else:
            if planting != self._planting:
                self._crop = planting.crop
                self.thirst.append(Thirst(ky=planting.crop.ky))
            self._stage = stage_on(planting.crop, (day - planting.planted).days)
            self.soil.root_to(self._stage.root_m)
        self._planting = planting

    def water(self, litres: float) -> None:
        """Pour water on it."""
        self.drained_mm += self.soil.wet(litres / self.declared.area)

    def pass_hour(self, rain_mm: float, et0_mm: float) -> None:
        """Let an hour of rain and drying pass."""
        if rain_mm > 0 and self.declared.rained_on:
            self.drained_mm += self.soil.wet(rain_mm)
        if et0_mm <= 0:
            return
        stage, crop = self._stage, self._crop
        canopy = stage.canopy if stage else 0.0
        kcb = stage.kcb * self._crop_factor if stage else 0.0
        bare = _WET_SOIL * math.exp(-_SHADE_PER_LEAF_AREA * canopy)
        surface = min(bare, max(0.0, _MOST_OF_ALL - kcb)) * self._mulch_factor()
        self.lost_to_air_mm += self.soil.evaporate(surface * et0_mm)
        if stage is None or crop is None:
            return
        demand_mm = max(kcb, _LEAST_KCB) * et0_mm
        uptake_mm = self.soil.transpire(demand_mm, crop.p)
        self.lost_to_air_mm += uptake_mm
        wanted_mm = stage.kc * self._crop_factor * et0_mm
        self.thirst[-1].wanted_mm += wanted_mm
        self.thirst[-1].used_mm += wanted_mm * uptake_mm / demand_mm

    def _mulch_factor(self) -> float:
        """Return the share of evaporation that a mulch lets through (FAO-56, ch. 10, p. 196)."""
        mulch = self.declared.mulch
        return 1.0 if mulch is None else 1 - _MULCH_SAVES * mulch.cover


def _true_soil(declared: Bed, factor: float) -> Soil:
    soil = reference_tables().soil(declared.soil)
    held = (soil.field_capacity - soil.wilting_point) * factor
    texture = Texture(soil.wilting_point + held, soil.wilting_point)
    roots_m = [reference_tables().crop(one.crop).root_m[1] for one in declared.crops]
    floor_m = max([_BARE_ROOTED_M, *roots_m])
    floor_m = min(floor_m, _CONTAINER_M.get(declared.kind, floor_m))
    return Soil(texture, top_m=min(_TOP_M, floor_m / 2), floor_m=floor_m, rooted_m=_BARE_ROOTED_M)
