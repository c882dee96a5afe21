"""The ration of somebody who knows the present and the weather to come."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from steepwell.decide.plan import make_plan
from steepwell.garden.days import local_day
from steepwell.outlook.calendar import standing_on
from steepwell.outlook.demand import bed_days
from steepwell.outlook.draws import certain
from steepwell.outlook.et0 import daily_et0_mm, hargreaves_bias
from steepwell.outlook.futures import run_futures
from steepwell.outlook.outlook import Outlook
from steepwell.outlook.record import read_record
from steepwell.outlook.state import BedNow, ButtNow, State
from steepwell.outlook.summary import outlook_document
from steepwell.outlook.weather import Weather

if TYPE_CHECKING:
    from datetime import date, datetime

    from tests.hindcast.summers import Summer

    from steepwell.garden.garden import Garden
    from steepwell.outlook.record import Record
    from steepwell_sim.world.world import World

# As far as a ration looks.
AHEAD_D = 112


class Foresight:
    """Makes plans for a simulated garden from how it truly is and the weather that will come.

    Vessels are left out: nobody is told to fill or feed, who has only the water in mind.

    Parameters
    ----------
    garden
        The garden.
    summer
        The summer it lives through.
    """

    def __init__(self, garden: Garden, summer: Summer) -> None:
        self._garden = garden.model_copy(update={"vessel": ()})
        self._record = read_record(summer.record)

    def plan_on(self, world: World, now: datetime) -> dict[str, Any]:
        """Return the plan of a morning.

        Parameters
        ----------
        world
            The garden as it truly is.
        now
            The moment.

        Returns
        -------
        dict
            As the program makes it.
        """
        garden = self._garden
        state = known(garden, world, now)
        weather = to_come(garden, self._record, state.today)
        asked = bed_days(garden, state.today, AHEAD_D)
        draws = certain(garden, state, 1)
        futures = run_futures(garden, state, weather, asked, draws)
        document = outlook_document(garden, state, futures)
        return make_plan(garden, state, Outlook(document, futures, weather, asked, draws), [])


def known(garden: Garden, world: World, now: datetime) -> State:
    """Return the state of a garden whose butts and soil are known as they truly are.

    Today's rain so far is in the true soil already.
    """
    today = local_day(garden, now)
    asked = bed_days(garden, today, 1)
    nothing = (0.0,) * len(garden.bed)
    beds = []
    for column, bed in enumerate(garden.bed):
        standing = standing_on(garden, bed, today)
        taw_mm, raw_mm = float(asked.taw_mm[0, column]), float(asked.raw_mm[0, column])
        lacks_mm = float(np.clip(world.beds[bed.name].soil.depletion_mm, 0.0, taw_mm))
        crop = standing.crop if standing else None
        beds.append(BedNow(bed.name, lacks_mm, taw_mm, raw_mm, crop))
    return State(
        now=now,
        today=today,
        rain_today_mm=0.0,
        watered_today_mm=nothing,
        watered_tonight_mm=nothing,
        butts=tuple(
            ButtNow(butt.name, world.rainwater.butts[butt.name].water_l, now)
            for butt in garden.butt
        ),
        beds=tuple(beds),
        vessels=(),
    )


def to_come(garden: Garden, record: Record, first: date) -> Weather:
    """Return the weather that the record has from a day on, as the one member of an ensemble."""
    begin = (first - record.first).days
    ahead = slice(begin, begin + AHEAD_D)
    latitude_deg = garden.garden.latitude
    tmin_c, tmax_c = record.tmin_c[ahead, None], record.tmax_c[ahead, None]
    et0_mm = daily_et0_mm(
        tmin_c,
        tmax_c,
        first,
        latitude_deg=latitude_deg,
        bias=hargreaves_bias(record, latitude_deg),
    )
    return Weather(record.rain_mm[ahead, None], (tmin_c + tmax_c) / 2, et0_mm)
