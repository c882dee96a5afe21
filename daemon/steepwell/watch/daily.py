"""All that is looked for once a day beside what is broken."""

from __future__ import annotations

from datetime import timedelta
from statistics import fmean
from typing import TYPE_CHECKING, Any

from steepwell.garden.garden import AIR
from steepwell.store.dated import rests
from steepwell.watch.battery import low_batteries
from steepwell.watch.kinds import BATTERY, BUTTS_FULL, CHORE, NEXT_RUNG, OVERFLOW, TOP_UP
from steepwell.watch.kinds import WARM_WATER as WARM
from steepwell.watch.overflow import overflow_ahead
from steepwell.watch.season import Season, chores, warm_water
from steepwell.watch.steeps import next_rungs, steeps_ended, top_ups_due

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from steepwell.garden.garden import Garden
    from steepwell.outlook.outlook import Outlook
    from steepwell.outlook.record import Record
    from steepwell.outlook.state import State
    from steepwell.store.entries import Entry
    from steepwell.store.notices import StandingNotice
    from steepwell.store.store import Store
    from steepwell.watch.finding import Finding

FORTNIGHT, SOME_DAYS = timedelta(days=14), timedelta(days=3)
# Fewer hours than this say little of a fortnight, or of three days.
MOST_OF_IT = 0.7
HOUR = timedelta(hours=1)

Json = dict[str, Any]


def daily_findings(
    garden: Garden,
    store: Store,
    state: State,
    outlook: Outlook | None,
    vessels: Sequence[Json],
    *,
    entries: Sequence[Entry],
    record: Record | None,
    forecast: bool,
    standing: Sequence[StandingNotice],
) -> list[Finding]:
    """Find what is so of overflow, steeps, batteries, warm water and chores.

    Parameters
    ----------
    garden, store, state, outlook, entries, record
        What is known.
    vessels
        What the plan does with the vessels.
    forecast
        Whether the outlook goes by a short-range forecast.
    standing
        The notices that stand.

    Returns
    -------
    list of Finding
        What is so now.
    """
    stand: dict[str, set[str]] = {}
    for notice in standing:
        stand.setdefault(notice.kind, set()).add(notice.subject)

    def told(kind: str) -> set[str]:
        return stand.get(kind, set())

    season = season_now(garden, store, record, state)
    asleep = rests(entries, state.now)
    spills = overflow_ahead(
        garden,
        state,
        outlook,
        vessels,
        forecast=forecast,
        stands=bool(told(OVERFLOW) | told(BUTTS_FULL)),
    )
    warm = warm_water(garden, season, stands=bool(told(WARM)))
    return [
        *(finding for finding in (spills, warm) if finding is not None),
        *(next_rungs(garden, state, outlook, told(NEXT_RUNG)) if outlook is not None else ()),
        *steeps_ended(state),
        *top_ups_due(garden, state, vessels, told(TOP_UP)),
        *low_batteries(garden, store.devices.all(), told(BATTERY)),
        *chores(garden, season, told(CHORE), rests=asleep),
    ]


def season_now(garden: Garden, store: Store, record: Record | None, state: State) -> Season:
    """Return where in the year a garden is.

    Parameters
    ----------
    garden, store
        The garden and its readings.
    record
        What is usual on the date, where no probe was heard.
    state
        What is so now: its day.

    Returns
    -------
    Season
        Its temperatures are None where neither probe nor record tells.
    """
    air = garden.temperature_sensor(AIR)
    probes = [p.name for v in garden.vessel if (p := garden.temperature_sensor(v.name)) is not None]
    in_air = [] if air is None else [air.name]
    air_c = next(iter(_means(store, in_air, state.now, FORTNIGHT)), None)
    if air_c is None and record is not None:
        _, tmin, tmax = record.normal(state.today)
        air_c = (tmin + tmax) / 2
    waters = _means(store, [*in_air, *probes], state.now, SOME_DAYS)
    return Season(state.today, air_c, max(waters, default=None))


def _means(store: Store, sensors: Sequence[str], now: datetime, span: timedelta) -> list[float]:
    """Return the means of the sensors that were heard for most of some time."""
    heard: dict[str, list[float]] = {}
    for hour in store.readings.hourly(sensors, now - span, now):
        heard.setdefault(hour.sensor, []).append(hour.mean)
    return [fmean(hours) for hours in heard.values() if len(hours) >= MOST_OF_IT * (span / HOUR)]
