"""How dry it has been: days without rain, and the rain of some months against the record."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from steepwell.garden.days import local_day
from steepwell.model.drought import fit_rain, spi, wetness
from steepwell.model.spells import DROUGHT_BELOW_MM, HAIR_MM, WET_DAY_MM, longest_dry_run_d
from steepwell.outlook.bridging import same_day
from steepwell.outlook.observed import observe

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from steepwell.garden.garden import Garden
    from steepwell.outlook.record import Record
    from steepwell.store.entries import Entry
    from steepwell.store.store import Store

# Months are counted back from yesterday.
DAYS_OF_MONTHS = {1: 30, 3: 91, 6: 182}
LOOKS_BACK_D = max(DAYS_OF_MONTHS.values())
# With fewer years an index says little (WMO-No. 1090).
LEAST_YEARS = 20

Array = NDArray[np.float64]
Json = dict[str, Any]


def dryness(
    garden: Garden, store: Store, record: Record, entries: Sequence[Entry], now: datetime
) -> Json | None:
    """Return how dry it has been in a garden up to yesterday.

    Parameters
    ----------
    garden
        The garden.
    store
        Where the readings of the gauge are.
    record
        The weather record, for what is usual.
    entries
        The journal, for rain read by hand.
    now
        The moment.

    Returns
    -------
    dict or None
        Ready for ``json.dumps``: days in a row below 1 mm and below 0.2 mm, the longest run below
        1 mm in half a year [d], and for 1, 3 and 6 months rain, usual rain [mm], SPI [-], its
        class, and the last year that was drier if all years since are known. None if yesterday's
        rain is not known.
    """
    today = local_day(garden, now)
    first = today - timedelta(days=LOOKS_BACK_D)
    gauges = tuple(sensor for sensor in garden.sensor if sensor.measures == "rain")
    only_rain = garden.model_copy(update={"sensor": gauges})
    rain_mm = observe(only_rain, store, None, entries, first=first, now=now).rain_mm
    if np.isnan(rain_mm[-1]):
        return None
    return {
        "days_below_1_mm": _run_d(rain_mm, WET_DAY_MM),
        "days_below_0_2_mm": _run_d(rain_mm, DROUGHT_BELOW_MM),
        "longest_dry_run_d": int(longest_dry_run_d(rain_mm)),
        "rain": [
            _compared(float(rain_mm[-days:].sum()), record, today, months, days)
            for months, days in DAYS_OF_MONTHS.items()
            if not np.isnan(rain_mm[-days:]).any()
        ],
    }


def _run_d(rain_mm: Array, below_mm: float) -> int:
    """Return how many days in a row were dry up to the last one."""
    ends = np.flatnonzero(~np.less(rain_mm, below_mm - HAIR_MM))
    return len(rain_mm) - 1 - int(ends[-1]) if len(ends) else len(rain_mm)


def _compared(total_mm: float, record: Record, today: date, months: int, days: int) -> Json:
    by_year = _totals(record, today, days)
    known = np.array([each for each in by_year.values() if not np.isnan(each)])
    index = None
    if len(known) >= LEAST_YEARS and len(np.unique(known[known > 0.0])) > 1:
        index = float(spi(total_mm, fit_rain(known)))
    return {
        "months": months,
        "rain_mm": round(total_mm, 1),
        "usual_mm": round(float(np.median(known)), 1) if len(known) else None,
        "spi": None if index is None else round(index, 2),
        "wetness": None if index is None else wetness(index),
        "driest_since": _last_drier(total_mm, by_year, today.year),
    }


def _totals(record: Record, today: date, days: int) -> dict[int, float]:
    """Return the rain up to the same day of each year but this, NaN where a day is not known."""
    rain_mm = record.rain_mm
    totals = {}
    for year in range(record.first.year, record.first.year + record.days // 365 + 2):
        end = (same_day(today, year) - record.first).days
        if days <= end <= len(rain_mm) and year != today.year:
            totals[year] = float(rain_mm[end - days : end].sum())
    return totals


def _last_drier(total_mm: float, by_year: dict[int, float], this_year: int) -> int | None:
    """Return the last year before this that was drier, if all years since are known."""
    year = this_year - 1
    while year in by_year and not np.isnan(by_year[year]):
        if by_year[year] < total_mm:
            return year
        year -= 1
    return None
