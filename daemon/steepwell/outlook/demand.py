"""What the beds ask of the soil day by day: coefficients, root zone, surface."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from steepwell.garden.tables import Crop, reference_tables
from steepwell.model.canopy import climate_adjusted_kc, ground_cover, most_kc
from steepwell.model.crop import mulched_kc
from steepwell.model.evaporation import exposed_share, total_evaporable_mm
from steepwell.model.soil import adjusted_p
from steepwell.outlook.calendar import MIXED, bed_stays
from steepwell.outlook.mulch import mulch_cover
from steepwell.store.dated import barred

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from steepwell.garden.garden import Garden
    from steepwell.garden.growing import Bed
    from steepwell.model.crop import CropCurve
    from steepwell.store.entries import Entry

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class BedDays:
    """What the beds ask of the soil on each day; arrays are (days, beds).

    Attributes
    ----------
    kc
        Crop coefficient with an average wetting, lowered by mulch [-].
    kcb, kc_max
        Basal crop coefficient, and what crop and wet soil together evaporate at most [-].
    exposed
        Share of the ground that the crop leaves open to the sun [-].
    cover
        Share of the ground under mulch [-].
    tew_mm, rew_mm
        Total and readily evaporable water of the surface [mm].
    taw_mm
        Total available water of the root zone [mm].
    p
        Share of it that the crop draws without stress at 5 mm a day [-].
    grows
        Whether a crop stands there.
    claim
        What the crop loses by dryness times what the gardener thinks of it; who is short of water
        serves the greatest first [-].
    barred
        Whether local orders bar watering, whatever with; (days,).
    """

    kc: Array
    kcb: Array
    kc_max: Array
    exposed: Array
    cover: Array
    tew_mm: Array
    rew_mm: Array
    taw_mm: Array
    p: Array
    grows: NDArray[np.bool_]
    claim: Array
    barred: NDArray[np.bool_]

    @property
    def raw_mm(self) -> Array:
        """Readily available water of the root zone on a day of 5 mm [mm]."""
        raw: Array = self.p * self.taw_mm
        return raw

    def raw_for(self, et0_mm: Array) -> Array:
        """Return the readily available water of each bed for the demand of each day.

        Parameters
        ----------
        et0_mm
            Reference evapotranspiration of each day, or the mean of its members [mm].

        Returns
        -------
        array
            Of shape (days, beds) [mm].
        """
        raw: Array = adjusted_p(self.p, self.kc * et0_mm[:, None]) * self.taw_mm
        return raw

    def demand(self, raw_mm: Array) -> dict[str, Array]:
        """Return what ``dual_step`` wants to know of each bed on each day."""
        return {
            "kcb": self.kcb,
            "kc_max": self.kc_max,
            "exposed": self.exposed,
            "mulch_cover": self.cover,
            "tew_mm": self.tew_mm,
            "rew_mm": self.rew_mm,
            "taw_mm": self.taw_mm,
            "raw_mm": raw_mm,
        }


def bed_days(garden: Garden, first: date, count: int, entries: Sequence[Entry] = ()) -> BedDays:
    """Return what every bed asks of its soil on every day.

    Parameters
    ----------
    garden
        The garden.
    first
        The first day.
    count
        How many days [d].
    entries
        The journal.

    Returns
    -------
    BedDays
        Arrays of shape (days, beds).

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, ch. 6 and 7; eq. 62, 65, 70 and 72.
    Cans wet all of a bed, the ground under the leaves too, so that fw is 1.
    """
    shape = (count, len(garden.bed))
    kc, kcb, kc_max, exposed, tew, taw, p, claim = (np.empty(shape) for _ in range(8))
    cover, rew = np.empty(shape), np.empty(shape)
    grows = np.zeros(shape, dtype=bool)
    site = garden.garden
    for column, bed in enumerate(garden.bed):
        soil = reference_tables().soil(bed.soil)
        available = 1000.0 * (soil.field_capacity - soil.wilting_point)
        cover[:, column] = mulch_cover(garden, bed, first, count, entries)
        for rows, table, ages, stands in _runs(garden, bed, first, count, entries):
            curve, here = _in_climate(table.curve, site.wind, site.least_humidity), (rows, column)
            kc[here] = mulched_kc(
                curve.kc_on(ages), cover=cover[here], basal_kc=curve.basal_kc_on(ages)
            )
            kcb[here] = curve.kcb_on(ages)
            height_m = curve.height_on(ages)
            kc_max[here] = most_kc(
                kcb[here],
                height_m=height_m,
                wind_m_s=site.wind,
                least_humidity_pct=100.0 * site.least_humidity,
            )
            crop_cover = ground_cover(kcb[here], kc_max=kc_max[here], height_m=height_m)
            exposed[here] = exposed_share(crop_cover)
            tew[here] = total_evaporable_mm(
                np.full(len(ages), soil.field_capacity),
                soil.wilting_point,
                residue_cover=cover[here] * (not stands),
            )
            taw[here] = curve.root_depth_m(ages) * available
            p[here] = table.p
            grows[here] = stands
            claim[here] = bed.priority * table.ky
        rew[:, column] = soil.rew_mm
    days = [first + timedelta(days=day) for day in range(count)]
    orders = np.array(["watering" in barred(entries, day) for day in days], dtype=bool)
    return BedDays(kc, kcb, kc_max, exposed, cover, tew, rew, taw, p, grows, claim, orders)


@cache
def _in_climate(curve: CropCurve, wind_m_s: float, least_humidity: float) -> CropCurve:
    """Return a crop's curve as the wind and the dryness of the garden's air have it."""

    def here(kc: float) -> float:
        return climate_adjusted_kc(
            kc,
            wind_m_s=wind_m_s,
            least_humidity_pct=100.0 * least_humidity,
            height_m=curve.height_m,
        )

    initial, *later = curve.kc
    middle, end = (here(kc) for kc in later)
    # Coefficients below 0.45 stay as they are, so that one may, and the other not.
    kcb = curve.kcb and (min(here(curve.kcb[0]), middle), min(here(curve.kcb[1]), end))
    return replace(curve, kc=(initial, middle, end), kcb=kcb)


def _runs(
    garden: Garden, bed: Bed, first: date, count: int, entries: Sequence[Entry]
) -> Iterator[tuple[slice, Crop, Array, bool]]:
    """Yield runs of days with one crop, after one run of all days as open ground."""
    yield slice(0, count), reference_tables().crop(MIXED), np.zeros(count), False
    for stay in bed_stays(garden, bed, first, first + timedelta(days=count - 1), entries):
        start = max((stay.planted - first).days, 0)
        end = min((stay.last - first).days + 1, count)
        age = stay.age_d(first + timedelta(days=start))
        grows_d = 0 if stay.full_grown else end - start
        ages = age + np.minimum(np.arange(end - start, dtype=float), grows_d)
        yield slice(start, end), stay.table, ages, True
