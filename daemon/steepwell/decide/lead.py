"""How long before it is wanted a steep must be started, by the weather of past years."""

from __future__ import annotations

from datetime import date, timedelta
from functools import lru_cache
from itertools import accumulate
from math import ceil
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from steepwell.model.ageing import LEAST_DAYS, READY_AGE_D, ageing_per_day
from steepwell.model.vessel import cool, mean_and_end
from steepwell.model.warmth import Warmth, presumed_warmth, solar_by_et0_mj
from steepwell.outlook.bridging import same_day
from steepwell.outlook.et0 import daily_et0_mm, hargreaves_bias

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden
    from steepwell.garden.growing import Vessel
    from steepwell.outlook.record import Record

# In so many years out of ten it is ready in time.
IN_TIME = 0.9
FEWEST_YEARS = 10
LONGEST_D = 365

Array = NDArray[np.float64]


def ages_d(garden: Garden, record: Record, vessel: Vessel, warmth: Warmth | None = None) -> Array:
    """Return how old a steep started with the record would be at the end of each of its days.

    Parameters
    ----------
    garden
        The garden, for the height of its sun.
    record
        The weather record; a day it lacks adds nothing.
    vessel
        The vessel.
    warmth
        How it follows the air and the sun, None for what is presumed of it.

    Returns
    -------
    array
        Age at 17 °C, rising [d].
    """
    warmth = warmth or presumed_warmth(vessel.liquid_l, vessel.insulation)
    air_c = (record.tmin_c + record.tmax_c) / 2.0
    sun_mj = _sun_mj(record, garden.garden.latitude)
    rest_c = air_c + warmth.offset_c + warmth.sun_k * sun_mj
    known = np.isfinite(rest_c)
    rest_c = rest_c[known]
    tau_h = warmth.time_constant_h
    keeps = float(cool(1.0, 0.0, hours=24.0, time_constant_h=tau_h))
    ends_c = accumulate(
        rest_c[:-1].tolist(),
        lambda end_c, rest: keeps * end_c + (1.0 - keeps) * rest,
        initial=float(rest_c[0]) if rest_c.size else None,
    )
    starts_c = np.fromiter(ends_c, dtype=float, count=rest_c.size)
    mean_c, _ = mean_and_end(starts_c, rest_c, hours=24.0, time_constant_h=tau_h)
    aged = np.zeros(record.days)
    aged[known] = ageing_per_day(mean_c)
    ages: Array = np.cumsum(aged)
    return ages


@lru_cache(maxsize=2)
def _sun_mj(record: Record, latitude_deg: float) -> Array:
    """Return the sun of each day of a record, NaN where its air is not known [MJ/m2]."""
    et0_mm = daily_et0_mm(
        record.tmin_c,
        record.tmax_c,
        record.first,
        latitude_deg=latitude_deg,
        bias=hargreaves_bias(record, latitude_deg),
    )
    return np.asarray(solar_by_et0_mj(et0_mm, (record.tmin_c + record.tmax_c) / 2.0))


def knows_all(record: Record, begin: int, end: int) -> bool:
    """Return whether a record knows the air of all days from one position to before another."""
    air_c = record.tmin_c[begin:end] + record.tmax_c[begin:end]
    return bool(np.isfinite(air_c).all())


def leads_d(
    record: Record,
    ages: Array,
    wanted: date,
    *,
    ready_d: float = READY_AGE_D,
    least_d: float = LEAST_DAYS,
) -> NDArray[np.int_]:
    """Return for each year of the record how long before a calendar day a steep had to begin.

    Parameters
    ----------
    record
        The weather record.
    ages
        What ``ages_d`` gives for it [d].
    wanted
        The day on which its feed is wanted.
    ready_d
        The age at 17 °C at which it is ready [d].
    least_d
        The days that it takes however warm it is [d].

    Returns
    -------
    array of int
        One for each year that reaches back far enough and lacks no day of them [d].
    """
    found = []
    for year in range(record.first.year, record.first.year + record.days // 365 + 2):
        at = (same_day(wanted, year) - record.first).days
        if LONGEST_D <= at < record.days:
            # The last day at whose beginning it was younger by all that it needs.
            begun = int(np.searchsorted(ages, ages[at - 1] - ready_d, side="right"))
            if knows_all(record, begun, at):
                found.append(max(at - begun, ceil(least_d)))
    return np.array(found, dtype=int)


def last_day(
    garden: Garden, record: Record, vessel: Vessel, wanted: date, warmth: Warmth | None = None
) -> date | None:
    """Return the last day on which a steep may begin that is to be ready in nine years of ten.

    Parameters
    ----------
    garden
        The garden.
    record
        The weather record.
    vessel
        The vessel.
    wanted
        The day on which its feed is wanted.
    warmth
        How the vessel follows the air and the sun, None for what is presumed of it.

    Returns
    -------
    date or None
        None where fewer than ten years of the record say anything of it.
    """
    if record.days < FEWEST_YEARS * LONGEST_D:
        return None
    ages = ages_d(garden, record, vessel, warmth)
    ready_d, least_d = vessel.ready_age_d, vessel.least_days
    leads = leads_d(record, ages, wanted, ready_d=ready_d, least_d=least_d)
    if len(leads) < FEWEST_YEARS:
        return None
    return wanted - timedelta(days=int(np.quantile(leads, IN_TIME, method="inverted_cdf")))
