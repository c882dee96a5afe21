"""What a reading, a day and an outlook look like in the mirror: measurement, tags, fields, time.

Every point has the tag ``garden``. Times are whole milliseconds, and units stand in the names.

``reading``
    tags ``sensor``, ``of`` (butt, vessels, ``air`` or ``sky``); fields ``flag`` and one of
    ``rain_total_mm`` (as the gauge counts), ``volume_l``, ``temperature_c``; time of the reading.
``day``
    fields ``rain_mm``, ``tmin_c``, ``tmax_c``, ``stored_l`` (all butts, in the evening), as far as
    they were observed; time: the local midnight with which the day begins.
``outlook_water``
    tag ``lead_d`` (days from the day of issue, 0 being its evening); fields ``volume_l_p05`` to
    ``volume_l_p95`` and ``p_dry``; time of issue, for some servers drop what lies in the future.
``outlook_butt``
    tags ``butt``, ``lead_d``; the same fields, with ``p_empty`` and ``p_overflow``; time of issue.
``outlook_vessel``
    tag ``vessel``; fields ``ready_in_d_p10``, ``_p50``, ``_p90``; time of issue.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from influxdb_client import Point, WritePrecision

from steepwell.clock import to_ms
from steepwell.garden.days import midnight
from steepwell.garden.sensors import measured_by
from steepwell.outlook.evenings import read_evenings
from steepwell.outlook.observed import observe

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import date, datetime

    from steepwell.garden.garden import Garden
    from steepwell.garden.sensors import Sensor
    from steepwell.store.store import Store

Json = dict[str, Any]


def reading_line(garden: Garden, sensor: Sensor, time_ms: int, value: float, flag: int) -> str:
    """Return a reading as one line.

    Parameters
    ----------
    garden
        The garden.
    sensor
        What read it.
    time_ms
        When [ms since 1970].
    value
        What it read [mm since the gauge started, L or °C].
    flag
        Its quality.

    Returns
    -------
    str
        Line protocol.
    """
    of, field = measured_by(sensor)
    tags = {"sensor": sensor.name, "of": of}
    return _line(garden, "reading", tags, {field: value, "flag": flag}, time_ms)


def day_lines(garden: Garden, store: Store, first: date, now: datetime) -> list[str]:
    """Return what was observed of the days from one up to yesterday, a line a day.

    Parameters
    ----------
    garden
        The garden.
    store
        Readings and journal.
    first
        The first day.
    now
        The moment of the job.

    Returns
    -------
    list of str
        Line protocol; days of which nothing was observed are not in it.
    """
    weather = observe(garden, store, None, store.journal.entries(now), first=first, now=now)
    count = len(weather.rain_mm)
    if count == 0:
        return []
    last = weather.day(count - 1)
    water = read_evenings(garden, store, first, last, now) if garden.butt else None
    lines = []
    for index in range(count):
        day = weather.day(index)
        fields = {
            "rain_mm": float(weather.rain_mm[index]),
            "tmin_c": float(weather.tmin_c[index]),
            "tmax_c": float(weather.tmax_c[index]),
            "stored_l": water.stored_on(day) if water is not None else None,
        }
        lines.append(_line(garden, "day", {}, fields, to_ms(midnight(garden, day))))
    return [line for line in lines if line]


def outlook_lines(garden: Garden, issued: datetime, document: Json) -> list[str]:
    """Return the quantiles and chances of an outlook.

    Parameters
    ----------
    garden
        The garden.
    issued
        When it was issued.
    document
        The outlook.

    Returns
    -------
    list of str
        Line protocol.
    """
    issued_ms = to_ms(issued)
    water, butts, vessels = document["water"], document["butts"], document["vessels"]
    lines = []
    for lead_d in range(len(document["days"])):
        lead = {"lead_d": str(lead_d)}
        fields = {**_quantiles(water, lead_d), "p_dry": water["p_dry"][lead_d]}
        lines.append(_line(garden, "outlook_water", lead, fields, issued_ms))
        for butt in butts:
            tags = {**lead, "butt": butt["name"]}
            chances = {name: butt[name][lead_d] for name in ("p_empty", "p_overflow")}
            fields = {**_quantiles(butt, lead_d), **chances}
            lines.append(_line(garden, "outlook_butt", tags, fields, issued_ms))
    for vessel in vessels:
        in_d = (vessel["ready"] or {}).get("in_d", {})
        ready = {f"ready_in_d_{name}": value for name, value in in_d.items()}
        tags = {"vessel": vessel["name"]}
        lines.append(_line(garden, "outlook_vessel", tags, ready, issued_ms))
    return [line for line in lines if line]


def _quantiles(part: Json, lead_d: int) -> Json:
    return {f"volume_l_{name}": values[lead_d] for name, values in part["volume_l"].items()}


def _line(
    garden: Garden, measurement: str, tags: Mapping[str, str], fields: Json, time_ms: int
) -> str:
    """Return one line; an empty one where no field has a value."""
    point = Point(measurement).tag("garden", garden.name).time(time_ms, WritePrecision.MS)
    for name, value in tags.items():
        point.tag(name, value)
    for name, number in _known(fields.items()):
        # One field has one type: a whole litre is no integer there.
        point.field(name, number if name == "flag" else float(number))
    return str(point.to_line_protocol())


def _known(fields: Iterable[tuple[str, float | None]]) -> list[tuple[str, float]]:
    return [(name, value) for name, value in fields if value is not None and not math.isnan(value)]
