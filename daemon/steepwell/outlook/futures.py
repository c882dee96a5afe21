"""Carries every member of the ensemble through the days ahead."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from steepwell.outlook.future_water import run_water
from steepwell.outlook.vessel_futures import likely_steeps, run_vessels

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden
    from steepwell.outlook.demand import BedDays
    from steepwell.outlook.draws import Draws
    from steepwell.outlook.state import State
    from steepwell.outlook.weather import Weather

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Futures:
    """What the members come to, at the end of each local day.

    Attributes
    ----------
    volume_l
        Water in each butt, in the order of the garden file; (days, butts, members) [L].
    full
        Whether a butt spilled or passed water on that day; as ``volume_l``.
    wanted_l, given_l, spilled_l
        Water the gardener wants to give, has to give, and water lost to the ground;
        (days, members) [L].
    bed_wanted_l
        What each bed lacks after seven days without watering, nothing if it is less than 5 L/m²;
        (beds, members) [L].
    stressed
        Whether a bed's crop suffered that day; (days, beds, members).
    age_d
        Thermal age of the steep in each vessel; (days, vessels, members) [d].
    ready_in_d
        Days until each is ready, infinite beyond the horizon; (vessels, members) [d].
    """

    volume_l: Array
    full: NDArray[np.bool_]
    wanted_l: Array
    given_l: Array
    spilled_l: Array
    bed_wanted_l: Array
    stressed: NDArray[np.bool_]
    age_d: Array
    ready_in_d: Array


def run_futures(
    garden: Garden, state: State, weather: Weather, asked: BedDays, draws: Draws
) -> Futures:
    """Carry all members from now through the days of the weather.

    Parameters
    ----------
    garden
        The garden.
    state
        What is so now.
    weather
        The members' weather; its first day is today.
    asked
        What the beds ask of the soil on the same days.
    draws
        What the members start with.

    Returns
    -------
    Futures
        Values at the end of each local day.
    """
    water = run_water(garden, state, weather, asked, draws)
    steeps = draws.steeps or likely_steeps(garden, state)
    age_d, ready_in_d = run_vessels(garden, state, weather, steeps)
    return Futures(**water, age_d=age_d, ready_in_d=ready_in_d)
