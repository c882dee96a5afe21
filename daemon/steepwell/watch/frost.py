"""The rule about frost tonight, on the taps of butts and on vessels."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, time, timedelta
from typing import TYPE_CHECKING

from steepwell.clock import from_ms, to_ms
from steepwell.garden.daylight import sunset
from steepwell.garden.garden import AIR
from steepwell.sense.forecasts import latest_forecast
from steepwell.watch.finding import Finding, still
from steepwell.watch.kinds import FROST
from steepwell.words.saying import say

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from steepwell.garden.garden import Garden
    from steepwell.store.notices import StandingNotice
    from steepwell.store.store import Store

TAPS = "taps"
# A forecast is of the air in its shelter; a tap radiates and is a degree or two colder by morning.
# From memory, as is that air near 2 degC at dusk goes below zero in a clear night.
FORECAST_C, FORECAST_OVER_C = 0.0, 3.0
DUSK_C, DUSK_OVER_C = 2.0, 6.0
# Not before there is a fresh forecast of the night, and while somebody can still go out.
FORECAST_FROM = time(12, 0)
BEFORE_SUNSET, AFTER_SUNSET = timedelta(hours=1), timedelta(hours=3)
FRESH = timedelta(hours=2)


@dataclass(frozen=True, slots=True)
class Evening:
    """What is known of the night to come.

    Attributes
    ----------
    at_dusk
        Whether it is dusk.
    lowest_c, lowest_ahead_c
        Lowest temperature forecast for the night, and for all nights ahead; None without a
        forecast, or too early in the day [°C].
    air_c
        Air in the shade at dusk, None where it is not heard [°C].
    water_c
        Liquid of each vessel that is heard at dusk [°C].
    """

    at_dusk: bool
    lowest_c: float | None
    lowest_ahead_c: float | None
    air_c: float | None
    water_c: Mapping[str, float]


def evening(garden: Garden, store: Store, now: datetime) -> Evening:
    """Gather what is known of the night to come.

    Parameters
    ----------
    garden
        The garden.
    store
        Its readings and forecasts.
    now
        The moment of the job.

    Returns
    -------
    Evening
        Temperatures of the last two hours only, each the warmer of two readings.
    """
    local = now.astimezone(garden.garden.zone)
    tomorrow = local.date() + timedelta(days=1)
    forecast = latest_forecast(garden, store, now) if local.time() >= FORECAST_FROM else None
    nights = [day for day in forecast.days if day.day >= tomorrow] if forecast else []
    dusk = sunset(garden.garden, local.date())
    at_dusk = dusk - BEFORE_SUNSET <= now <= dusk + AFTER_SUNSET
    probes = [sensor.name for sensor in garden.sensor if sensor.measures == "temperature"]
    newest = _of_late_c(store, probes, now) if at_dusk else {}
    air = garden.temperature_sensor(AIR)
    return Evening(
        at_dusk=at_dusk,
        lowest_c=next((day.tmin_c for day in nights if day.day == tomorrow), None),
        lowest_ahead_c=min((day.tmin_c for day in nights), default=None),
        air_c=newest.get(air.name) if air is not None else None,
        water_c={
            vessel.name: newest[probe.name]
            for vessel in garden.vessel
            if (probe := garden.temperature_sensor(vessel.name)) is not None
            and probe.name in newest
        },
    )


def _of_late_c(store: Store, probes: Sequence[str], now: datetime) -> dict[str, float]:
    """Return the warmer of the last two readings of each probe, for one alone may be a slip."""
    found: dict[str, float] = {}
    asked = [(probe, now) for probe in probes]
    for _ in range(2):
        read = store.readings.last_good_of_each(asked)
        fresh = [one for one in read if one is not None and one.time_ms > to_ms(now - FRESH)]
        for one in fresh:
            found[one.sensor] = max(one.value, found.get(one.sensor, one.value))
        asked = [(one.sensor, from_ms(one.time_ms - 1)) for one in fresh]
    return found


def frost_tonight(
    garden: Garden, tonight: Evening, standing: Sequence[StandingNotice], *, rests: bool
) -> list[Finding]:
    """Find what may freeze tonight; between one dusk and the next what stands goes on standing.

    Parameters
    ----------
    garden
        The garden.
    tonight
        What is known of the night.
    standing
        The notices that stand.
    rests
        Whether the garden was put to bed: then its taps are open.

    Returns
    -------
    list of Finding
        One for the taps, which freeze before any vessel does; where there are none, or they are
        open, one for each vessel whose liquid is near freezing.
    """
    told = {notice.subject: notice for notice in standing if notice.kind == FROST}
    taps = _of_taps(tonight, told.get(TAPS)) if garden.butt and not rests else None
    vessels = [
        _of_vessel(vessel.name, tonight, told.get(vessel.name))
        for vessel in garden.vessel
        if taps is None or vessel.name in told
    ]
    return [finding for finding in (taps, *vessels) if finding is not None]


def _of_taps(tonight: Evening, told: StandingNotice | None) -> Finding | None:
    expected, ahead = tonight.lowest_c, tonight.lowest_ahead_c
    if expected is not None and ahead is not None:
        if expected <= FORECAST_C:
            return _taps(say("frost.forecast", celsius=f"{expected:.0f}"), "Likely", expected)
        return still(told) if told is not None and ahead < FORECAST_OVER_C else None
    known = [(None, tonight.air_c), *tonight.water_c.items()]
    place, coldest = min(
        ((place, celsius) for place, celsius in known if celsius is not None),
        key=lambda each: each[1],
        default=(None, None),
    )
    if not tonight.at_dusk or coldest is None:
        return still(told) if told is not None else None
    if coldest <= DUSK_C:
        told_c = f"{coldest:.0f}"
        if place is None:
            said = say("frost.air-at-dusk", celsius=told_c)
        else:
            said = say("frost.vessel-at-dusk", celsius=told_c, vessel=place)
        return _taps(said, "Possible", coldest)
    return still(told) if told is not None and coldest < DUSK_OVER_C else None


def _of_vessel(name: str, tonight: Evening, told: StandingNotice | None) -> Finding | None:
    water_c = tonight.water_c.get(name)
    if not tonight.at_dusk or water_c is None:
        return still(told) if told is not None else None
    if water_c > (DUSK_OVER_C if told is not None else DUSK_C):
        return None
    if told is not None:
        return still(told)
    return Finding(
        kind=FROST,
        subject=name,
        urgency="Expected",
        severity="Moderate",
        certainty="Likely" if (tonight.lowest_c or 0.0) < 0.0 else "Possible",
        headline=say("frost.vessel", vessel=name),
        text=say("frost.cover-vessel", celsius=f"{water_c:.0f}", over_celsius=f"{DUSK_OVER_C:.0f}"),
        figures={"water_c": round(water_c, 1), "lowest_c": tonight.lowest_c},
    )


def _taps(said: str, certainty: str, celsius: float) -> Finding:
    likely = certainty == "Likely"
    return Finding(
        kind=FROST,
        subject=TAPS,
        urgency="Expected",
        severity="Moderate",
        certainty="Likely" if likely else "Possible",
        headline=say("frost.tonight"),
        text=say(
            "frost.lag-by-forecast" if likely else "frost.lag-by-dusk",
            why=said,
            over_celsius=f"{FORECAST_OVER_C if likely else DUSK_OVER_C:.0f}",
        ),
        figures={"lowest_c" if likely else "coldest_c": round(celsius, 1)},
    )
