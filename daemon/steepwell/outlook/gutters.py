"""What roofs send to the butts: of a day's rain, or hour by hour as the gauge counted it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from steepwell.model.catchment import after_first_flush, capped_l, runoff_l, share_below_cap

if TYPE_CHECKING:
    from collections.abc import Mapping

    from steepwell.garden.garden import Garden
    from steepwell.garden.water import Roof

# A wet roof is dry again after so many hours without rain; from memory.
DRIES_IN_H = 6.0
# How hard it falls while it rains, for days of which only the sum is known; from memory, for
# lowlands of the temperate zones.
SHOWER_MM_H = 2.0

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Gutter:
    """A roof and where its water goes.

    Attributes
    ----------
    into
        Place of the butt in its chain.
    area_m2
        Area that drains here, in plan [m2].
    runoff
        Runoff coefficient as declared [-].
    wetting_mm, flush_l, cap_l_min
        What wets the roof, what a diverter leads away of each rain, and what passes at most.
    flush_after_h
        Dry time after which the diverter is empty [h].
    filter_efficiency
        Part that passes the filter [-].
    of_a_day
        Part of a day's water that falls no harder than can pass [-].
    """

    into: int
    area_m2: float
    runoff: float
    wetting_mm: float
    flush_l: float
    flush_after_h: float
    cap_l_min: float | None
    filter_efficiency: float
    of_a_day: float

    def of_days_l(self, rain_mm: Array, runoff: Array | float) -> Array:
        """Return what comes of the rain of days, of each by itself.

        Every day with rain counts as an event of its own, so that a diverter takes its litres on
        each, and of a cap only what is usual in such weather is taken off.

        Parameters
        ----------
        rain_mm
            Rain of days [mm].
        runoff
            Runoff coefficient in place of the one declared [-].

        Returns
        -------
        array
            Water that reaches the butt [L].
        """
        runs_off = runoff_l(
            rain_mm,
            area_m2=self.area_m2,
            share=1.0,
            runoff_coefficient=1.0,
            wetting_loss_mm=self.wetting_mm,
        )
        litres: Array = runs_off * runoff
        if self.flush_l:
            litres = np.maximum(litres - self.flush_l, 0.0)
        passing: Array = litres * (self.of_a_day * self.filter_efficiency)
        return passing

    def of_hours_l(self, rain_mm: Array, at_h: Array, runoff: float) -> Array:
        """Return what comes of the hours in which it rained.

        Parameters
        ----------
        rain_mm
            Rain of each [mm].
        at_h
            When each begins, in order of time [h].
        runoff
            Runoff coefficient in place of the one declared [-].

        Returns
        -------
        array
            Water that reaches the butt in each [L].
        """
        runs_mm = after_first_flush(rain_mm, at_h, flush=self.wetting_mm, dry_hours=DRIES_IN_H)
        litres = runs_mm * (self.area_m2 * runoff)
        if self.flush_l:
            litres = after_first_flush(
                litres, at_h, flush=self.flush_l, dry_hours=self.flush_after_h
            )
        if self.cap_l_min is not None:
            litres = np.asarray(capped_l(litres, most_l_min=self.cap_l_min, rain_hours=1.0))
        passing: Array = litres * self.filter_efficiency
        return passing


def gutters_of(garden: Garden, place: Mapping[str, int]) -> tuple[Gutter, ...]:
    """Return the gutters of all roofs, in the order of the garden file.

    Parameters
    ----------
    garden
        The garden.
    place
        Place of each butt in its chain, by name.

    Returns
    -------
    tuple of Gutter
        One a roof.
    """
    return tuple(
        Gutter(
            place[roof.into],
            roof.area * roof.share,
            roof.runoff,
            roof.wetting_loss,
            roof.first_flush,
            roof.first_flush_after,
            roof.flow_cap,
            roof.filter_efficiency,
            _of_a_day(roof),
        )
        for roof in garden.roof
    )


def _of_a_day(roof: Roof) -> float:
    litres_a_mm = roof.area * roof.share * roof.runoff
    if roof.flow_cap is None or litres_a_mm <= 0.0:
        return 1.0
    most_mm_h = roof.flow_cap * 60.0 / litres_a_mm
    return float(share_below_cap(most_mm_h, mean_mm_h=SHOWER_MM_H))
