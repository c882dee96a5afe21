"""What each roof delivers, learned from the rise of its butt rain after rain."""

from __future__ import annotations

import math
from bisect import bisect_left
from typing import TYPE_CHECKING

from steepwell.clock import from_ms, to_ms
from steepwell.model.learn import learned_runoff
from steepwell.outlook.comings import Drawn, drawn_since
from steepwell.outlook.gutters import gutters_of
from steepwell.outlook.levels import READING_SD_SHARE, most_told_l
from steepwell.outlook.rains import Rain, rains
from steepwell.outlook.reckoning import BY_CANS, UNNOTED_SHARE
from steepwell.outlook.state import RoofNow

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import datetime

    from steepwell.garden.garden import Garden
    from steepwell.garden.water import Butt
    from steepwell.outlook.observed import Observed
    from steepwell.store.entries import Entry
    from steepwell.store.readings import Reading
    from steepwell.store.store import Store

# How far what is declared may be off, and how well a roof can be known at best; from memory.
DECLARED_SD, LEAST_SD = 0.10, 0.02
# Rains that bring less than this share of what the butt holds say little.
LEAST_SHARE = 0.03
# From here on a butt may have run over.
NEARLY_FULL = 0.97
# A reading older than this before a rain, or missing after it, leaves it out.
HEARD_WITHIN_MS = 3 * 3_600_000
# What makes a rain differ from the next, from memory: wind, drops and gutters, as a share of what
# it brings; the grain of the gauge and of the wetting [mm].
RAINS_DIFFER, GRAIN_MM = 0.10, 0.15

_Heard = dict[tuple[str, int], "Reading | None"]


def roofs_now(
    garden: Garden, store: Store, observed: Observed, entries: Sequence[Entry], now: datetime
) -> tuple[RoofNow, ...]:
    """Return what each roof delivers.

    Roofs that feed one butt are learned together, each keeping its part. Where no probe tells the
    rise of the butt, the garden file holds.

    Parameters
    ----------
    garden
        The garden.
    store
        Where the levels are.
    observed
        The rain of the months before.
    entries
        The journal, for what was drawn while it rained.
    now
        The moment of the job.

    Returns
    -------
    tuple of RoofNow
        In the order of the garden file.
    """
    place = {butt.name: index for index, butt in enumerate(garden.butt)}
    fallen = [
        rain
        for rain in rains(garden, observed, gutters_of(garden, place))
        if rain.after_ms <= to_ms(now)
    ]
    fed = [butt for butt in garden.butt if any(roof.into == butt.name for roof in garden.roof)]
    worth = {butt.name: list(_worth_reading(garden, butt, fallen)) for butt in fed}
    heard = _levels(garden, store, worth)
    drawn = drawn_since(garden, entries, min((rain.before_ms for rain in fallen), default=0))
    factor = {butt.name: _learned(garden, butt, worth[butt.name], heard, drawn) for butt in fed}
    return tuple(
        RoofNow(
            roof.name,
            min(roof.runoff * factor[roof.into][0], 1.0),
            roof.runoff * factor[roof.into][1],
        )
        for roof in garden.roof
    )


def _worth_reading(
    garden: Garden, butt: Butt, fallen: Sequence[Rain]
) -> Iterator[tuple[Rain, float]]:
    """Yield the rains that bring enough to a butt, each with what they bring as declared [L]."""
    if garden.level_sensor(butt.name) is None:
        return
    feeds = [roof.into == butt.name for roof in garden.roof]
    for rain in fallen:
        brings_l = sum(litres for litres, here in zip(rain.declared_l, feeds, strict=True) if here)
        if brings_l >= LEAST_SHARE * butt.capacity_l:
            yield rain, brings_l


def _upstream(garden: Garden, butt: Butt) -> list[Butt]:
    return [other for other in garden.butt if other.overflow_to == butt.name]


def _levels(garden: Garden, store: Store, worth: dict[str, list[tuple[Rain, float]]]) -> _Heard:
    """Return what the probes of the butts and of those above them said before and after rains."""
    asked: set[tuple[str, int]] = set()
    for butt in garden.butt:
        for other in (butt, *_upstream(garden, butt)):
            sensor = garden.level_sensor(other.name)
            if sensor is not None:
                for rain, _ in worth.get(butt.name, []):
                    asked |= {(sensor.name, rain.before_ms), (sensor.name, rain.after_ms)}
    keys = sorted(asked)
    found = store.readings.last_good_of_each([(name, from_ms(time_ms)) for name, time_ms in keys])
    return dict(zip(keys, found, strict=True))


def _learned(
    garden: Garden,
    butt: Butt,
    worth: Sequence[tuple[Rain, float]],
    heard: _Heard,
    drawn: Sequence[Drawn],
) -> tuple[float, float]:
    """Return by how much the roofs of a butt deliver more than declared, and its deviation [-]."""
    roofs = [roof for roof in garden.roof if roof.into == butt.name]
    area_m2 = sum(roof.area * roof.share for roof in roofs)
    declared = (
        sum(roof.area * roof.share * roof.runoff for roof in roofs) / area_m2 if area_m2 else 0.0
    )
    if declared <= 0.0:
        return 1.0, 0.0
    most_variance = (DECLARED_SD * declared) ** 2
    coefficient, variance = declared, most_variance
    for rain, brings_l in worth:
        rise = _rise_l(garden, butt, rain, heard, drawn)
        if rise is None:
            continue
        collected_l, drawn_l = rise
        noise_l = math.hypot(
            RAINS_DIFFER * brings_l,
            GRAIN_MM * brings_l / rain.rain_mm,
            math.sqrt(2.0) * READING_SD_SHARE * butt.capacity_l,
            UNNOTED_SHARE * butt.capacity_l * math.sqrt(rain.days),
            BY_CANS * drawn_l,
        )
        coefficient, variance = learned_runoff(
            coefficient,
            variance,
            potential_l=brings_l / declared,
            collected_l=collected_l,
            noise_l=noise_l,
            most_variance=most_variance,
        )
    return coefficient / declared, max(math.sqrt(variance) / declared, LEAST_SD)


def _rise_l(
    garden: Garden, butt: Butt, rain: Rain, heard: _Heard, drawn: Sequence[Drawn]
) -> tuple[float, float] | None:
    """Return what came into a butt in a rain, and what of that was drawn meanwhile [L].

    None where that cannot be told: nobody read it, it may have run over, or something came from a
    butt above it.
    """
    levels = _before_and_after(garden, butt, rain, heard)
    if levels is None:
        return None
    begin, end = (bisect_left(drawn, level.time_ms, key=_moment_ms) for level in levels)
    meanwhile = drawn[begin:end]
    if len(garden.butt) > 1 and any(draw.butt is None for draw in meanwhile):
        return None
    taken_l = sum(draw.litres for draw in meanwhile if draw.butt in {None, butt.name})
    before_l, after_l = levels[0].value, levels[1].value
    if max(before_l, after_l + max(taken_l, 0.0)) >= _nearly_full_l(garden, butt):
        return None
    for other in _upstream(garden, butt):
        above = _before_and_after(garden, other, rain, heard)
        taken_above = sum(abs(draw.litres) for draw in meanwhile if draw.butt == other.name)
        if above is None or above[1].value + taken_above >= _nearly_full_l(garden, other):
            return None
    return after_l - before_l + taken_l, abs(taken_l)


def _moment_ms(draw: Drawn) -> int:
    return draw.at_ms


def _before_and_after(
    garden: Garden, butt: Butt, rain: Rain, heard: _Heard
) -> tuple[Reading, Reading] | None:
    sensor = garden.level_sensor(butt.name)
    if sensor is None:
        return None
    before = heard[sensor.name, rain.before_ms]
    after = heard[sensor.name, rain.after_ms]
    if before is None or after is None:
        return None
    recent = rain.before_ms - before.time_ms <= HEARD_WITHIN_MS
    # The last hour of the rain is over an hour before the water has run down.
    over = rain.after_ms - after.time_ms <= HEARD_WITHIN_MS // 3
    return (before, after) if recent and over else None


def _nearly_full_l(garden: Garden, butt: Butt) -> float:
    sensor = garden.level_sensor(butt.name)
    most_l = butt.capacity_l if sensor is None else min(butt.capacity_l, most_told_l(sensor, butt))
    return NEARLY_FULL * most_l
