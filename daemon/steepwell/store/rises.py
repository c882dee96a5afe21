"""Rain by the hour from what a gauge counted, over restarts, rollovers and gaps."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any, NamedTuple

from sqlalchemy import and_, bindparam, case, func, literal, select

from steepwell.model.probes import rain_without_undercatch_mm_h
from steepwell.store.tables import reading

if TYPE_CHECKING:
    from sqlalchemy import BindParameter, ColumnElement, Connection, Select, Subquery

GOOD_FLAGS = (1, 2)
HOUR_MS = 3_600_000
# A counter has 8 bits or more. It went over the top, and did not start anew, when it stood within a
# sixteenth of it: then at most that much is told that did not fall.
FEWEST_BITS, MOST_BITS, NEAR_THE_TOP = 8, 32, 1 / 16
# Never has more fallen in an hour in the British Isles than 92 mm; from memory.
MOST_MM_IN_AN_HOUR, LEAST_TOLD_MM = 100.0, 5.0
# A count of whole tips comes back from the store as millimetres.
HALF_A_TIP = 0.5


class Gauge(NamedTuple):
    """How a gauge counts.

    Attributes
    ----------
    is_cumulative
        Whether its readings count on and on; else each is what fell since the one before.
    tip_mm
        Rain of a tip, if it counts tips [mm].
    heavy_rain_corrected
        Whether what a tipping bucket lost in heavy rain is put back.
    """

    is_cumulative: bool = True
    tip_mm: float | None = None
    heavy_rain_corrected: bool = False


def hourly_rise(
    connection: Connection, number: int, gauge: Gauge, start_ms: int, end_ms: int
) -> list[tuple[int, float]]:
    """Return how much a gauge counted in each hour, good readings only.

    A fall is a restart of the counter: what it shows after it has risen from nothing. A fall from
    just below a power of two of tips is a rollover, if it can have rained so much meanwhile.

    Parameters
    ----------
    connection
        To the store.
    number
        Number of the sensor.
    gauge
        How it counts.
    start_ms, end_ms
        ``start_ms`` <= time < ``end_ms`` [ms since 1970].

    Returns
    -------
    list of tuple
        Start of the hour [ms since 1970] and rain [mm], ordered by hour; hours without a reading
        are not in it.
    """
    by_hour, rained = _questions(gauge)
    asked = {"number": number, "start_ms": start_ms, "end_ms": end_ms}
    rises = {row[0]: float(row[1]) for row in connection.execute(by_hour, asked)}
    if gauge.heavy_rain_corrected and gauge.tip_mm is not None:
        for at, rise_mm, within_ms in connection.execute(rained, asked):
            rises[at] += _lost_mm(rise_mm, within_ms, gauge.tip_mm)
    return [(at * HOUR_MS, mm) for at, mm in rises.items()]


@cache  # they are long, and asked several times for each outlook
def _questions(gauge: Gauge) -> tuple[Select[Any], Select[Any]]:
    """Return what asks for the rise of each hour, and for each single rise and its time."""
    start_ms: BindParameter[int] = bindparam("start_ms")
    steps = _steps(gauge, start_ms)
    hour = (steps.c.time_ms // HOUR_MS).label("hour")
    in_time = steps.c.time_ms >= start_ms
    return (
        select(hour, func.sum(steps.c.rise)).where(in_time).group_by(hour).order_by(hour),
        select(hour, steps.c.rise, steps.c.within_ms).where(in_time, steps.c.rise > 0),
    )


def _lost_mm(rise_mm: float, within_ms: int | None, tip_mm: float) -> float:
    """Return what fell beside the bucket while it tipped, nothing where that cannot be told."""
    if not within_ms:
        return 0.0
    hours = within_ms / HOUR_MS
    try:
        return rain_without_undercatch_mm_h(rise_mm / hours, tip_mm) * hours - rise_mm
    except ValueError:
        return 0.0


def _steps(gauge: Gauge, start_ms: ColumnElement[int]) -> Subquery:
    """Return each reading with what fell since the one before it, and how long that is."""
    of_sensor = (reading.c.sensor == bindparam("number")) & reading.c.flag.in_(GOOD_FLAGS)
    before = (
        select(reading.c.time_ms)
        .where(of_sensor, reading.c.time_ms < start_ms)
        .order_by(reading.c.time_ms.desc())
        .limit(1)
        .scalar_subquery()
    )
    lagged = (
        select(
            reading.c.time_ms,
            reading.c.value,
            func.lag(reading.c.value).over(order_by=reading.c.time_ms).label("previous"),
            (
                reading.c.time_ms - func.lag(reading.c.time_ms).over(order_by=reading.c.time_ms)
            ).label("within_ms"),
        )
        .where(
            of_sensor,
            reading.c.time_ms >= func.coalesce(before, start_ms),
            reading.c.time_ms < bindparam("end_ms"),
        )
        .subquery()
    )
    value, previous, within_ms = lagged.c.value, lagged.c.previous, lagged.c.within_ms
    if not gauge.is_cumulative:
        rise: ColumnElement[float] = value + literal(0.0)
    else:
        whens = [(previous.is_(None), literal(0.0)), (value >= previous, value - previous)]
        if gauge.tip_mm is not None:
            whens += _rollovers(value, previous, within_ms, gauge.tip_mm)
        rise = case(*whens, else_=value)
    return select(lagged.c.time_ms, within_ms, rise.label("rise")).subquery()


def _rollovers(
    value: ColumnElement[float],
    previous: ColumnElement[float],
    within_ms: ColumnElement[int],
    tip_mm: float,
) -> list[tuple[ColumnElement[bool], ColumnElement[float]]]:
    """Return the cases of a fall that is a rollover, one for each power of two."""
    possible_mm = within_ms * (MOST_MM_IN_AN_HOUR / HOUR_MS) + LEAST_TOLD_MM
    whens = []
    for bits in range(FEWEST_BITS, MOST_BITS + 1):
        top_mm = 2**bits * tip_mm
        over = value + (top_mm - previous)
        near = and_(
            previous >= top_mm * (1 - NEAR_THE_TOP) - HALF_A_TIP * tip_mm,
            previous <= top_mm - HALF_A_TIP * tip_mm,
            over <= possible_mm,
        )
        whens.append((near, over))
    return whens
