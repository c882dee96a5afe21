"""What a ration reckons with: futures in which nobody waters, week by week."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from steepwell.decide.priority import loss_per_mm
from steepwell.decide.reaching import reaches
from steepwell.decide.watering import MOST_A_DAY_MM, above_taps_l, on_tap
from steepwell.model.soil import root_zone_step
from steepwell.outlook.butts import chain_of
from steepwell.outlook.draws import likely_runoff
from steepwell.outlook.observed import share_of_today_left

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.garden.garden import Garden
    from steepwell.outlook.demand import BedDays
    from steepwell.outlook.state import State
    from steepwell.outlook.weather import Weather
    from steepwell.store.entries import Entry

WEEK_D = 7
WEEKS = 16
SCENARIOS = 50
# What a soil yields readily is known to a fifth or so: water comes while that much is left.
READILY = 0.8
# Less than this in a week is not worth a variable.
LEAST_UNMET_MM = 0.5

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Scenarios:
    """Futures of the beds that rain reaches, and of the butts, if nobody waters those beds.

    Attributes
    ----------
    unmet_mm
        What the crop lacks of its evapotranspiration; (scenarios, beds, weeks) [mm].
    drawn
        Share of a millimetre given at the start of a week that the crop draws within that week,
        the rest stays in the soil; as ``unmet_mm`` [-].
    room_mm
        Room that the soil has for water given, all through the week; as ``unmet_mm`` [mm].
    loss_per_mm
        What each unmet millimetre costs, as a share of what the garden yields; as ``unmet_mm``
        [1/mm].
    reaches
        Share of a millimetre given that is not lost from the wet surface; (beds, weeks) [-].
    thirsty_in_d
        Days until the crop lacks water for the first time, infinite if it never does; (scenarios,
        beds) [d].
    lacks_mm
        What the soil may be expected to lack on each evening of the first week; (days, beds) [mm].
    inflow_l
        What the roofs deliver; (scenarios, weeks) [L].
    off_top_l
        What pots, trays and greenhouse borders take; the same [L].
    area_m2
        Of the beds [m²].
    worth_per_l
        What a litre too little costs each bed this week [1/L].
    in_hand_l, capacity_l
        Water above the taps now, and when the butts are full [L].
    """

    unmet_mm: Array
    drawn: Array
    room_mm: Array
    loss_per_mm: Array
    reaches: Array
    thirsty_in_d: Array
    lacks_mm: Array
    inflow_l: Array
    off_top_l: Array
    area_m2: Array
    worth_per_l: Array
    in_hand_l: float
    capacity_l: float


def scenarios_of(
    garden: Garden,
    state: State,
    weather: Weather,
    asked: BedDays,
    entries: Sequence[Entry],
    *,
    off_top_l: float,
) -> Scenarios:
    """Carry the beds through the weeks ahead without watering them.

    Parameters
    ----------
    garden
        The garden.
    state
        What is so now.
    weather
        Members of the weather; the first fifty are taken, and of their days whole weeks.
    asked
        What the beds ask of the soil on the same days.
    entries
        The journal, for what was planted and cleared.
    off_top_l
        What this week goes to beds that no rain reaches [L].

    Returns
    -------
    Scenarios
        At most sixteen weeks of at most fifty futures.
    """
    weeks = min(len(weather.rain_mm) // WEEK_D, WEEKS)
    chosen = slice(weeks * WEEK_D), slice(SCENARIOS)
    rain_mm, et0_mm = weather.rain_mm[chosen].copy(), weather.et0_mm[chosen]
    rain_mm[0] *= share_of_today_left(garden, state.now)
    chain = chain_of(garden)
    inflow_l = _weekly(chain.inflow_l(rain_mm, likely_runoff(garden, state)).sum(axis=0))
    # What fell today is in the butts already, but not yet in the beds.
    rain_mm[0] += state.rain_today_mm
    loss_mm = loss_per_mm(garden, state.today, et0_mm.mean(axis=1), entries)
    open_beds = np.array([bed.rained_on for bed in garden.bed])
    area_m2 = np.array([bed.area for bed in garden.bed])[open_beds]
    return Scenarios(
        **_without_water(state, asked, rain_mm, et0_mm, loss_mm=loss_mm, open_beds=open_beds),
        reaches=reaches(asked, weeks, open_beds),
        inflow_l=inflow_l,
        off_top_l=_off_top_l(garden, asked, et0_mm, off_top_l),
        area_m2=area_m2,
        worth_per_l=loss_mm[:WEEK_D, open_beds].mean(axis=0) / area_m2,
        in_hand_l=sum(above_taps_l(garden, state).values()),
        capacity_l=sum(chain.capacity_l) - sum(chain.dead_l),
    )


def _off_top_l(garden: Garden, asked: BedDays, et0_mm: Array, this_week_l: float) -> Array:
    """Return what beds that no rain reaches take out of the butts; (scenarios, weeks) [L]."""
    days = len(et0_mm)
    covered = np.array([not (bed.rained_on or on_tap(garden, bed)) for bed in garden.bed])
    area_m2 = np.array([bed.area for bed in garden.bed])[covered]
    drawn_mm = np.minimum(asked.kc[:days, covered, None] * et0_mm[:, None], MOST_A_DAY_MM)
    drawn_mm *= asked.grows[:days, covered, None]
    off_top_l = _weekly(np.tensordot(area_m2, drawn_mm, axes=(0, 1)))
    off_top_l[:, 0] = this_week_l
    return off_top_l


def _without_water(
    state: State,
    asked: BedDays,
    rain_mm: Array,
    et0_mm: Array,
    *,
    loss_mm: Array,
    open_beds: NDArray[np.bool_],
) -> dict[str, Array]:
    """Return the first six fields of ``Scenarios``.

    A root zone drier than RAW lets its crop draw (TAW - depletion) / (TAW - RAW) of what it asks
    for, so each such day takes ETc / (TAW - RAW) out of what was given, and leaves the rest.
    """
    days, scenarios = rain_mm.shape
    weeks, beds = days // WEEK_D, int(open_beds.sum())
    shape = (weeks, beds, scenarios)
    unmet, lost, kept = np.zeros(shape), np.zeros(shape), np.ones(shape)
    room, thirsty_in = np.full(shape, np.inf), np.full(shape[1:], np.inf)
    lacks = np.zeros((WEEK_D, beds))
    start_mm = np.array([bed.depletion_mm for bed in state.beds])[open_beds]
    depletion = np.repeat(start_mm[:, None], scenarios, axis=1)
    given_mm = np.array([state.watered_today_mm, state.watered_tonight_mm]).sum(axis=0)
    watered_mm = given_mm[open_beds, None]
    for day in range(days):
        week = day // WEEK_D
        taw, raw = asked.taw_mm[day, open_beds, None], READILY * asked.raw_mm[day, open_beds, None]
        etc_mm = asked.kc[day, open_beds, None] * et0_mm[day]
        depletion, eta_mm, _ = root_zone_step(
            depletion,
            rain_mm=rain_mm[day],
            irrigation_mm=watered_mm if day == 0 else 0.0,
            etc_mm=etc_mm,
            taw_mm=taw,
            raw_mm=raw,
        )
        np.minimum(room[week], depletion, out=room[week])
        if day < WEEK_D:
            lacks[day] = depletion.mean(axis=1)
        grows = asked.grows[day, open_beds, None]
        thirsty = (depletion > raw) & grows
        np.minimum(thirsty_in, np.where(thirsty, day, np.inf), out=thirsty_in)
        if day == 0:
            # Water comes in the evening: what is missed today is missed.
            continue
        short_mm = (etc_mm - eta_mm) * grows
        unmet[week] += short_mm
        lost[week] += loss_mm[day, open_beds, None] * short_mm
        kept[week] *= np.where(short_mm > 0, np.maximum(1.0 - etc_mm / (taw - raw), 0.0), 1.0)
    unmet[unmet < LEAST_UNMET_MM] = 0.0
    per_mm = lost / np.where(unmet > 0, unmet, 1.0)
    return {
        "unmet_mm": _by_scenario(unmet),
        "drawn": _by_scenario(1.0 - kept),
        "room_mm": _by_scenario(room),
        "loss_per_mm": _by_scenario(per_mm),
        "thirsty_in_d": thirsty_in.T,
        "lacks_mm": lacks,
    }


def _by_scenario(values: Array) -> Array:
    """Return (scenarios, beds, weeks) of (weeks, beds, scenarios)."""
    return np.ascontiguousarray(values.transpose(2, 1, 0))


def _weekly(values: Array) -> Array:
    """Return weekly sums (scenarios, weeks) of (days, scenarios)."""
    days, scenarios = values.shape
    sums: Array = values.reshape(days // WEEK_D, WEEK_D, scenarios).sum(axis=1).T
    return sums
