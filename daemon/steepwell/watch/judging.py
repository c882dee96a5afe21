"""New readings are judged among their neighbours and flagged."""

from __future__ import annotations

import logging
from datetime import timedelta
from functools import cached_property
from typing import TYPE_CHECKING

from steepwell.clock import from_ms, to_ms
from steepwell.errors import WeatherRecordError
from steepwell.garden.garden import AIR
from steepwell.garden.sensors import Barometer, LevelSensor, RainSensor, TemperatureSensor
from steepwell.sense.flags import PASS
from steepwell.store.readings import DAY_MS, HOUR_MS
from steepwell.watch.climate import usual_air_c
from steepwell.watch.falls import counted_on, of_falls
from steepwell.watch.verdicts import Company, of_level, of_rain, of_temperature

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime

    from steepwell.garden.garden import Garden
    from steepwell.garden.sensors import Sensor
    from steepwell.store.judged import Point
    from steepwell.store.store import Store
    from steepwell.watch.climate import Range

_LOG = logging.getLogger(__name__)

# What came later than this after it was measured stays as it is: not evaluated.
LOOK_BACK = timedelta(days=7)
# What is needed of the time before a reading to judge it, and of the time after.
BEFORE_MS, AFTER_MS = DAY_MS, 3 * HOUR_MS
# How long ago the air may have been as warm as water is.
WARMED_OVER_MS = 5 * DAY_MS


class Judge:
    """Judges what waits in the store; a reading is judged once.

    Parameters
    ----------
    garden
        The garden.
    store
        Its readings.
    """

    def __init__(self, garden: Garden, store: Store) -> None:
        self._garden = garden
        self._store = store

    @cached_property
    def _usual_air_c(self) -> Mapping[int, Range]:
        try:
            return usual_air_c(self._garden)
        except WeatherRecordError as error:
            _LOG.warning("no air temperature is compared with those of its month: %s", error)
            return {}

    def judge(self, now: datetime) -> None:
        """Flag every reading of the last week that has a successor and was not flagged yet.

        Parameters
        ----------
        now
            The moment of the job; later readings are not looked at.
        """
        end_ms = to_ms(now)
        waiting = self._store.judged.waiting(to_ms(now - LOOK_BACK), end_ms)
        if not waiting:
            return
        # A day at a time, so that a stored week of many sensors needs little memory and the writer
        # of new readings never waits for long.
        for start_ms in range(min(waiting.values()), end_ms, DAY_MS):
            wanted = [name for name, first_ms in waiting.items() if first_ms < start_ms + DAY_MS]
            self._judge_day(wanted, start_ms, min(start_ms + DAY_MS, end_ms + 1), end_ms)

    def _judge_day(self, wanted: Sequence[str], start_ms: int, until_ms: int, end_ms: int) -> None:
        garden = self._garden
        air = garden.temperature_sensor(AIR)
        beside = [sensor.name for sensor in (air, garden.rain_sensor) if sensor is not None]
        with self._store.moment():
            series = self._store.judged.series(
                {*wanted, *beside}, start_ms - BEFORE_MS, min(until_ms + AFTER_MS, end_ms)
            )
            warmest_c = self._warmest_c(start_ms, until_ms)
            newest_ms = self._store.readings.newest_times()
        company = Company(
            garden,
            air=series[air.name] if air is not None else [],
            rain=_counted(garden.rain_sensor, series),
            usual_air_c=self._usual_air_c,
            warmest_c=warmest_c,
        )
        sensors = {sensor.name: sensor for sensor in garden.sensor}
        found = {
            name: [
                point
                for before, point in zip(
                    series[name], _verdicts(sensors[name], series[name], company), strict=True
                )
                if before.waits
                and start_ms <= point.time_ms < until_ms
                and point.time_ms < newest_ms[self._store.readings.ids[name]]
            ]
            for name in wanted
        }
        self._store.judged.write(found)

    def _warmest_c(self, start_ms: int, until_ms: int) -> float | None:
        """Return the warmest air of the day and of those before it, None where it is not known."""
        air = self._garden.temperature_sensor(AIR)
        if air is None:
            return None
        begin, end = from_ms(start_ms - WARMED_OVER_MS), from_ms(until_ms)
        days = self._store.readings.daily_most([air.name], begin, end)
        # Air that was heard for a day or two says little of what warmed the water.
        if len(days) <= WARMED_OVER_MS // DAY_MS:
            return None
        return max(most_c for _, _, most_c in days)


def _counted(gauge: RainSensor | None, series: Mapping[str, list[Point]]) -> list[Point]:
    """Return what a gauge counted, also of one that tells only what fell since it last spoke."""
    if gauge is None:
        return []
    return series[gauge.name] if gauge.is_cumulative else counted_on(series[gauge.name])


def _verdicts(sensor: Sensor, series: Sequence[Point], company: Company) -> list[Point]:
    match sensor:
        case TemperatureSensor():
            return of_temperature(sensor, series, company)
        case LevelSensor():
            return of_level(sensor, series, company)
        case RainSensor():
            return of_rain(series) if sensor.is_cumulative else of_falls(series)
        case Barometer():
            return [point._replace(flag=PASS) for point in series]
