"""What a reading is found to be among its neighbours and beside other sensors, and why."""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from steepwell.clock import from_ms
from steepwell.garden.garden import AIR
from steepwell.sense.convert import COLDEST_C, FAIL, MOST_RAIN_MM, PASS, SUSPECT, WARMEST_C
from steepwell.sense.quality import (
    PRECEDENCE,
    climatological_range,
    counter_spike,
    flat_line,
    flat_since,
    gross_range,
    rate_of_change,
    spike,
)
from steepwell.store.readings import DAY_MS, HOUR_MS
from steepwell.words.figures import moment
from steepwell.words.saying import say

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from steepwell.garden.garden import Garden
    from steepwell.garden.sensors import LevelSensor, TemperatureSensor
    from steepwell.store.judged import Point

# Air that people garden in, and a vessel outdoors, frozen or not; from memory.
USUAL_AIR_C, USUAL_WATER_C = (-30.0, 48.0), (-20.0, 45.0)
# How far a temperature leaves both its neighbours [°C]: the sun may touch a probe for a while.
AIR_SPIKE_C, WATER_SPIKE_C = (5.0, 10.0), (3.0, 6.0)
# The step of air in a minute that is doubted (WMO-No. 8, from memory), and a front in an hour.
AIR_STEP_C, AIR_STEP_IN_AN_HOUR_C = 3.0, 9.0
WATER_STEP_C, WATER_STEP_IN_AN_HOUR_C = 4.0, 4.0
# A probe for the air that shows the same to the last figure for so long; in fog a coarse one may.
AIR_FLAT_MS, AIR_DEAD_MS = 8 * HOUR_MS, 20 * HOUR_MS
# Water may stand still for a day, unless the air went up and down by so much meanwhile.
WATER_FLAT_MS, AIR_SWING_C = 23 * HOUR_MS, 8.0
# Water that freezes or thaws stays where it is.
FREEZES_C = 0.5
# The sun warms a dark vessel beyond the air, by less than this.
SUN_C = 9.0
# How far a level leaves both its neighbours, as shares of what the butt holds.
LEVEL_SPIKE = (0.08, 0.20)
# A probe that shows the same before and after rain that should have raised it by such a share.
RAISED_SHARE, NEARLY_FULL = 0.10, 0.90

Test = tuple["list[int]", "Callable[[int], str]"]


@dataclass(frozen=True, slots=True)
class Company:
    """What the readings of one sensor are held against.

    Attributes
    ----------
    garden
        The garden.
    air, rain
        Air temperatures and rain counted in the same time.
    usual_air_c
        Lowest and highest temperature of the air in each month [°C].
    warmest_c
        The warmest the air has been of late [°C], None where it is not known.
    """

    garden: Garden
    air: Sequence[Point] = ()
    rain: Sequence[Point] = ()
    usual_air_c: Mapping[int, tuple[float, float]] = field(default_factory=dict)
    warmest_c: float | None = None


def of_temperature(
    sensor: TemperatureSensor, series: Sequence[Point], company: Company
) -> list[Point]:
    """Judge temperatures.

    Parameters
    ----------
    sensor
        The probe, for the air or in a vessel.
    series
        Its readings that did not fail, in the order of time.
    company
        What else was measured.

    Returns
    -------
    list of Point
        The same readings with their flags and reasons.
    """
    times_ms, values = _columns(series)
    in_air = AIR in sensor.places
    usual = USUAL_AIR_C if in_air else USUAL_WATER_C
    doubted_c, fails_c = AIR_SPIKE_C if in_air else WATER_SPIKE_C
    at_once = AIR_STEP_C if in_air else WATER_STEP_C
    in_an_hour = AIR_STEP_IN_AN_HOUR_C if in_air else WATER_STEP_IN_AN_HOUR_C
    spikes = spike(times_ms, values, suspect=doubted_c, fail=fails_c)
    # What comes after a spike has not moved from it.
    sound = [value for value, flag in zip(values, spikes, strict=True) if flag != FAIL]
    sound_ms = [time_ms for time_ms, flag in zip(times_ms, spikes, strict=True) if flag != FAIL]
    steps = iter(rate_of_change(sound_ms, sound, at_once=at_once, in_an_hour=in_an_hour))
    tests: list[Test] = [
        (
            gross_range(values, fail=(COLDEST_C, WARMEST_C), suspect=usual),
            lambda at: say("verdicts.hardly-ever", celsius=f"{values[at]:.1f}"),
        ),
        (
            spikes,
            lambda at: say("verdicts.spike", celsius=f"{values[at]:.1f}", **_beside(values, at)),
        ),
        (
            [PASS if flag == FAIL else next(steps) for flag in spikes],
            lambda at: say("verdicts.step", celsius=f"{values[at]:.1f}"),
        ),
    ]
    tests += _of_air(times_ms, values, company) if in_air else _of_water(times_ms, values, company)
    return _gravest(series, tests)


def _of_air(times_ms: Sequence[int], values: Sequence[float], company: Company) -> list[Test]:
    zone = company.garden.garden.zone
    months = [from_ms(time_ms).astimezone(zone).month for time_ms in times_ms]
    return [
        (
            climatological_range(months, values, company.usual_air_c),
            lambda at: say("verdicts.hardly-ever-this-month", celsius=f"{values[at]:.1f}"),
        ),
        (
            flat_line(times_ms, values, suspect_ms=AIR_FLAT_MS, fail_ms=AIR_DEAD_MS),
            lambda at: say(
                "verdicts.air-without-a-change",
                celsius=f"{values[at]:.1f}",
                since=_since(times_ms, values, at, company),
            ),
        ),
    ]


def _of_water(times_ms: Sequence[int], values: Sequence[float], company: Company) -> list[Test]:
    since_ms = flat_since(times_ms, values)
    air_times_ms, air_c = _columns(company.air)
    stuck = [PASS] * len(values)
    for at, (time_ms, begin_ms) in enumerate(zip(times_ms, since_ms, strict=True)):
        if time_ms - begin_ms < WATER_FLAT_MS or abs(values[at]) <= FREEZES_C:
            continue
        begin, end = bisect_left(air_times_ms, begin_ms), bisect_right(air_times_ms, time_ms)
        meanwhile_c = air_c[begin:end]
        if meanwhile_c and max(meanwhile_c) - min(meanwhile_c) >= AIR_SWING_C:
            stuck[at] = SUSPECT
    warmest_c = math.inf if company.warmest_c is None else company.warmest_c + SUN_C
    warm = [SUSPECT if value > warmest_c else PASS for value in values]
    return [
        (
            stuck,
            lambda at: say(
                "verdicts.water-without-a-change",
                celsius=f"{values[at]:.1f}",
                since=_since(times_ms, values, at, company),
                air_celsius=f"{AIR_SWING_C:.0f}",
            ),
        ),
        (
            warm,
            lambda at: say(
                "verdicts.warmer-than-air",
                celsius=f"{values[at]:.1f}",
                air_celsius=f"{company.warmest_c:.1f}",
            ),
        ),
    ]


def of_level(sensor: LevelSensor, series: Sequence[Point], company: Company) -> list[Point]:
    """Judge the water in a butt.

    Parameters
    ----------
    sensor
        The probe.
    series
        Its readings that did not fail, in the order of time [L].
    company
        What else was measured.

    Returns
    -------
    list of Point
        The same readings with their flags and reasons.
    """
    times_ms, litres = _columns(series)
    butt = next(butt for butt in company.garden.butt if butt.name == sensor.of)
    doubted_l, fails_l = (share * butt.capacity_l for share in LEVEL_SPIKE)
    brings_l = sum(
        roof.area * roof.share * roof.runoff
        for roof in company.garden.roof
        if roof.into == butt.name
    )
    since_ms = flat_since(times_ms, litres)
    fallen_mm = [
        _fallen_mm(company.rain, begin_ms, time_ms - HOUR_MS) if time_ms > begin_ms else 0.0
        for begin_ms, time_ms in zip(since_ms, times_ms, strict=True)
    ]
    should_rise = [
        fallen * brings_l >= RAISED_SHARE * butt.capacity_l
        and value <= NEARLY_FULL * butt.capacity_l
        for fallen, value in zip(fallen_mm, litres, strict=True)
    ]
    tests: list[Test] = [
        (
            spike(times_ms, litres, suspect=doubted_l, fail=fails_l),
            lambda at: say(
                "verdicts.level-spike", litres=f"{litres[at]:.0f}", **_beside(litres, at)
            ),
        ),
        (
            [SUSPECT if should else PASS for should in should_rise],
            lambda at: say(
                "verdicts.level-without-a-change",
                litres=f"{litres[at]:.0f}",
                since=_since(times_ms, litres, at, company),
                rain_mm=f"{fallen_mm[at]:.0f}",
            ),
        ),
    ]
    return _gravest(series, tests)


def of_rain(series: Sequence[Point]) -> list[Point]:
    """Judge counts of rain.

    Parameters
    ----------
    series
        Readings of the gauge that did not fail, in the order of time [mm since it started].

    Returns
    -------
    list of Point
        The same readings with their flags and reasons.
    """
    times_ms, counted_mm = _columns(series)
    possible = (0.0, MOST_RAIN_MM)
    return _gravest(
        series,
        [
            (
                gross_range(counted_mm, fail=possible, suspect=possible),
                lambda at: say("verdicts.count", rain_mm=f"{counted_mm[at]:.0f}"),
            ),
            (
                counter_spike(times_ms, counted_mm),
                lambda at: say(
                    "verdicts.count-jumps",
                    rain_mm=f"{counted_mm[at]:.1f}",
                    **_beside(counted_mm, at),
                ),
            ),
        ],
    )


def _gravest(series: Sequence[Point], tests: Sequence[Test]) -> list[Point]:
    """Give each reading that waits the gravest flag of all tests, and the reasons of those."""
    judged = []
    for at, point in enumerate(series):
        if not point.waits:
            judged.append(point)
            continue
        flag = max((flags[at] for flags, _ in tests), key=PRECEDENCE.index)
        doubted = flag in {SUSPECT, FAIL}
        reasons = [why(at) for flags, why in tests if doubted and flags[at] == flag]
        judged.append(point._replace(flag=flag, reason="; ".join(reasons) or None))
    return judged


def _columns(series: Sequence[Point]) -> tuple[list[int], list[float]]:
    return [point.time_ms for point in series], [point.value for point in series]


def _beside(values: Sequence[float], at: int) -> dict[str, str]:
    return {"before": f"{values[at - 1]:.1f}", "after": f"{values[at + 1]:.1f}"}


def _since(times_ms: Sequence[int], values: Sequence[float], at: int, company: Company) -> str:
    begin_ms = flat_since(times_ms[: at + 1], values[: at + 1])[-1]
    before = times_ms[at] - begin_ms >= DAY_MS - HOUR_MS
    since = moment(from_ms(begin_ms).astimezone(company.garden.garden.zone))
    return say("verdicts.since-or-before", moment=since) if before else since


def _fallen_mm(rain: Sequence[Point], begin_ms: int, end_ms: int) -> float:
    """Return what the gauge counted between two moments; a restart counts as nothing [mm]."""
    begin = bisect_left(rain, begin_ms, key=lambda point: point.time_ms)
    end = bisect_right(rain, end_ms, key=lambda point: point.time_ms)
    if end - begin < 2:  # noqa: PLR2004 - two readings make a difference
        return 0.0
    return max(rain[end - 1].value - rain[begin].value, 0.0)
