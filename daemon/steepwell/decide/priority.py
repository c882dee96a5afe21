"""What a lack of water costs each bed: by the gardener's priority, the crop, and its growth."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from steepwell.garden.tables import reference_tables
from steepwell.model.response import PeriodKy, ky_on
from steepwell.outlook.calendar import bed_stays
from steepwell.outlook.et0 import radiation_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.garden.garden import Garden
    from steepwell.garden.growing import Bed
    from steepwell.outlook.calendar import Stay
    from steepwell.store.entries import Entry

Array = NDArray[np.float64]

# One growth period each, to ask which of them a day falls in.
ONE_PERIOD = [PeriodKy(*row) for row in np.eye(4)]
# How far the values of growth periods, which are from memory, are believed against the published
# one for the season.
PERIODS_BELIEVED = 0.5


def loss_per_mm(garden: Garden, first: date, et0_mm: Array, entries: Sequence[Entry] = ()) -> Array:
    """Return what a millimetre too little on a day costs.

    A crop loses Ky (1 - ΣETa/ΣETc) of its yield, over the season or a growth period, so that a
    millimetre missing costs Ky/ΣETc. Half of the cost is that of the season, half that of the
    growth period. The values of growth periods are scaled so that a crop that lacks the same share
    of its water all season loses the same by both; else a crop with four values would count twice.
    Crops that follow each other in a bed share its weight by the water they want in the year.
    Evapotranspiration of the whole year is taken in proportion to the radiation.

    Parameters
    ----------
    garden
        The garden.
    first
        The first day.
    et0_mm
        Reference evapotranspiration to be expected on each day from then on [mm].
    entries
        The journal, for what was planted and cleared.

    Returns
    -------
    array
        Share of what the whole garden yields, beds weighing by area and priority, that is lost
        with each millimetre; (days, beds) [1/mm].

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, eq. 90, p. 176 to 177.
    """
    latitude_deg = garden.garden.latitude
    radiation = radiation_of(first, len(et0_mm), latitude_deg)
    et0_per_mj = float(et0_mm.sum() / radiation.sum())
    weight = np.array([bed.area * bed.priority for bed in garden.bed])
    lost: Array = np.column_stack(
        [
            _bed_loss(garden, bed, first, len(et0_mm), entries=entries, et0_per_mj=et0_per_mj)
            for bed in garden.bed
        ]
    )
    lost *= weight / weight.sum()
    return lost


def growth_words(stay: Stay, day: date) -> str | None:
    """Return what a crop is doing, None for one without growth periods of its own."""
    periods = reference_tables().growth_periods.get(stay.crop)
    if periods is None:
        return None
    falls_in = _falls_in(stay, np.array([float(stay.age_d(day))]))
    return periods.words[int(falls_in.argmax())]


def stop_words(stay: Stay, day: date) -> str | None:
    """Return why a crop is among the first to be left dry, None if it is not."""
    stop = reference_tables().stop_list.get(stay.crop)
    if stop is None:
        return None
    initial, development, mid, _ = stay.table.stage_days
    since = {
        "established": initial,
        "full-grown": initial + development,
        "ripening": initial + development + mid,
    }
    return stop.words if stay.age_d(day) >= since[stop.since] else None


def _bed_loss(
    garden: Garden,
    bed: Bed,
    first: date,
    days: int,
    *,
    entries: Sequence[Entry],
    et0_per_mj: float,
) -> Array:
    """Return the share of a bed's yield that is lost with a millimetre on each day."""
    begin, end = date(first.year, 1, 1), date(first.year, 12, 31)
    last = first + timedelta(days=days - 1)
    loss = np.zeros(days)
    total_mm = 0.0
    for stay in bed_stays(garden, bed, begin, max(last, end), entries):
        length = (stay.last - stay.planted).days + 1
        ages = np.arange(float(length))
        if stay.full_grown:
            ages[:] = sum(stay.table.stage_days[:2])
        radiation = radiation_of(stay.planted, length, garden.garden.latitude)
        etc_mm = stay.table.curve.kc_on(ages) * et0_per_mj * radiation
        start = (stay.planted - first).days
        here = slice(min(max(start, 0), days), min(max(start + length, 0), days))
        there = slice(here.start - start, here.stop - start)
        loss[here] = etc_mm.sum() * _crop_loss(stay, ages, etc_mm)[there]
        this_year = slice(max((begin - stay.planted).days, 0), (end - stay.planted).days + 1)
        total_mm += float(etc_mm[this_year].sum())
    return loss / total_mm if total_mm else loss


def _crop_loss(stay: Stay, ages: Array, etc_mm: Array) -> Array:
    """Return the share of its yield that a crop loses with a millimetre on each of its days."""
    season = np.full(len(ages), stay.table.ky / etc_mm.sum())
    periods = reference_tables().growth_periods.get(stay.crop)
    if periods is None:
        return season
    falls_in = _falls_in(stay, ages)
    ky = stay.table.ky * np.array(periods.ky) / sum(periods.ky)
    # A crop that is cleared early does not see all its periods.
    loss: Array = (ky / np.maximum(falls_in @ etc_mm, etc_mm.min())) @ falls_in
    return PERIODS_BELIEVED * loss + (1.0 - PERIODS_BELIEVED) * season


def _falls_in(stay: Stay, ages: Array) -> Array:
    """Return 1 for the growth period of each day; (periods, days). Who stays longer, ripens on."""
    ages = np.minimum(ages, float(stay.table.curve.length_d))
    return np.array([ky_on(ages, stay.table.stage_days, period) for period in ONE_PERIOD])
