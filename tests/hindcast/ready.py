"""Ready dates foretold a week ahead on real air, for vessels with a physics of their own."""

from __future__ import annotations

import random
import sys
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from tests.hindcast.rig import without_year
from tests.hindcast.tables import as_markdown, as_text
from tests.hindcast.vessels import PLACES, VESSELS, Place, place, ready_after_d

from steepwell.clock import to_ms
from steepwell.outlook.observed import Observed
from steepwell.outlook.persistence import carry_warmth_on, warmer_than_usual_c
from steepwell.outlook.scoring import central_share, ranks
from steepwell.outlook.state import State
from steepwell.outlook.steeps import steep_now
from steepwell.outlook.vessel_air import air_days
from steepwell.outlook.vessel_futures import run_vessels, uncertain_steeps
from steepwell.outlook.weather import Weather, future_weather
from steepwell.store.entries import Matter, SteepStarted
from steepwell_sim.world.steep import READY_AFTER_D, READY_AGE_D

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from steepwell.outlook.record import Record

    Array = NDArray[np.float64]

MONTHS, STARTS = range(3, 11), (1, 15)
STARTED_H, JOB_H = 10, 6.5
LEAD_D = 7.0
HORIZON_D = 90
MEMBERS = 499
CENTRAL, CENTRAL_MARK = 0.8, (0.74, 0.86)
MARK_D = {"probe": 1.1, "air": 1.6, "record": 1.6}
EVERY_FIFTH = 5
RUN_UP_D = 20
WAYS = {"when a usual week would do": False, "a week before it came": True}
WORDS = {"probe": "a probe in it", "air": "the air measured", "record": "nothing measured"}
READY_HEADS = [
    "issued, with",
    "steeps",
    "mean error of the median",
    "early or late",
    "share of ranks in the central 80 %",
]
# How far a probe may be off, the same for all its readings.
PROBE_OFF_K = 0.3


@dataclass(frozen=True, slots=True)
class Judged:
    """What was foretold of one steep: how early or late the median is, and the members' days."""

    error_d: float
    members_d: Array
    truth_d: float


class Case(NamedTuple):
    """One steep on the morning of an issue: what is known then, and what came."""

    vessel: int
    started: datetime
    now: datetime
    truth_d: float
    known: Record
    ahead: Weather
    seed: int


def case_of(
    at: Place, vessel: int, started: datetime, seed: int, *, hindsight: bool
) -> Case | None:
    """Return a steep a week before it is ready.

    Parameters
    ----------
    at
        The place.
    vessel
        Position of the vessel.
    started
        When the steep began.
    seed
        Draws the members.
    hindsight
        Whether a week before it came, or when a usual week would make it ready [-].

    Returns
    -------
    Case or None
        None where the record ends before it was ready.
    """
    took_d = ready_after_d(at, vessel, started)
    if not np.isfinite(took_d):
        return None
    ready = started + timedelta(days=took_d)
    now = _before(ready) if hindsight else _a_week_ahead(at, vessel, started)
    known = without_year(at.record, started.year)
    if ready.year != started.year:
        known = without_year(known, ready.year)
    ahead = future_weather(at.garden, known, now.date(), HORIZON_D, MEMBERS, seed=seed)
    truth_d = (ready - now) / timedelta(days=1)
    return Case(vessel, started, now, truth_d, known, ahead, seed)


def _before(ready: datetime) -> datetime:
    morning = (ready - timedelta(days=LEAD_D)).date()
    return datetime.combine(morning, datetime.min.time(), UTC) + timedelta(hours=JOB_H)


def _a_week_ahead(at: Place, vessel: int, started: datetime) -> datetime:
    """Return the first morning on which a usual week would make a steep ready.

    A morning that was chosen by what came after it would find warm weeks too often: a steep becomes
    ready on a warm day rather than on a cold one.
    """
    begin = at.hour(started) - 1
    usual = at.usual_pace_d[:, vessel]
    day = started.date() + timedelta(days=3)
    while True:
        now = datetime.combine(day, datetime.min.time(), UTC) + timedelta(hours=JOB_H)
        age = at.pace_d[at.hour(now) - 1, vessel] - at.pace_d[begin, vessel]
        passed_d = (now - started) / timedelta(days=1)
        number = day.timetuple().tm_yday - 1
        week = np.take(usual, range(number, number + int(LEAD_D)), mode="wrap").sum()
        if age + week >= READY_AGE_D and passed_d + LEAD_D >= READY_AFTER_D:
            return now
        day += timedelta(days=1)


def judge(at: Place, case: Case, measured: str) -> Judged:
    """Return what was foretold of a steep, with a probe in it, in the air alone, or nowhere."""
    now, one = case.now, at.garden.vessel[case.vessel]
    garden = at.garden.model_copy(update={"vessel": (one,)})
    observed = _observed(at, case, guessed=measured == "record")
    seen = air_days(garden, observed, case.known)
    heard = _heard(at, case) if measured == "probe" else []
    start = SteepStarted(at=case.started, vessel=one.name, matter=(Matter(plant="nettle"),))
    steep = steep_now(garden, one, seen, heard, record=case.known, entries=[start], now=now)
    state = State(now, now.date(), 0.0, (), (), (), (), (steep,))
    draws = uncertain_steeps(garden, state, MEMBERS, np.random.default_rng([case.seed, 4]))
    warmer_c = warmer_than_usual_c(observed, case.known)
    ahead = case.ahead
    if warmer_c is not None:
        ahead = carry_warmth_on(ahead, case.known, now.date(), warmer_c)
    _, ready_in_d = run_vessels(garden, state, ahead, draws)
    error_d = float(np.median(ready_in_d[0])) - case.truth_d
    return Judged(error_d, np.minimum(ready_in_d[0], HORIZON_D), case.truth_d)


def _observed(at: Place, case: Case, *, guessed: bool) -> Observed:
    first = case.started.date() - timedelta(days=RUN_UP_D)
    days = (case.now.date() - first).days
    begin = (first - at.record.first).days
    tmin, tmax = (column[begin : begin + days] for column in (at.record.tmin_c, at.record.tmax_c))
    if guessed:
        usual = np.array([case.known.normal(first + timedelta(days=day)) for day in range(days)])
        tmin, tmax = usual[:, 1], usual[:, 2]
    return Observed(
        first, np.zeros(days), tmin, tmax, 0.0, 0, temperature_guessed=np.full(days, guessed)
    )


def _heard(at: Place, case: Case) -> list[tuple[int, float]]:
    off_k = random.Random(case.seed).uniform(-PROBE_OFF_K, PROBE_OFF_K)  # noqa: S311 - a simulation
    return [
        (to_ms(at.begin + timedelta(hours=hour)), float(at.vessel_c[hour, case.vessel]) + off_k)
        for hour in range(at.hour(case.started), at.hour(case.now))
    ]


def foretold(*, quick: bool, hindsight: bool = False) -> dict[str, list[Judged]]:
    """Return all that was foretold, by what was measured."""
    found: dict[str, list[Judged]] = {measured: [] for measured in MARK_D}
    for name in PLACES:
        at = place(name)
        years = range(at.record.first.year, at.record.first.year + at.record.years)
        starts = [(year, month, day) for year in years for month in MONTHS for day in STARTS]
        for number, (year, month, day) in enumerate(starts):
            if quick and year % EVERY_FIFTH:
                continue
            started = datetime(year, month, day, STARTED_H, tzinfo=UTC)
            vessel = (number + year) % VESSELS
            case = case_of(at, vessel, started, number, hindsight=hindsight)
            if case is None:
                continue
            for measured in MARK_D:
                found[measured].append(judge(at, case, measured))
    return found


def ready_row(way: str, measured: str, judged: list[Judged], *, quick: bool) -> list[str]:
    """Return a row of the table; a missed mark is told, but for a taste of few years."""
    rng = np.random.default_rng(1)
    errors = np.array([each.error_d for each in judged])
    members = np.array([each.members_d for each in judged])
    rank = ranks(members, np.array([each.truth_d for each in judged]), rng)
    central = central_share(rank, MEMBERS, CENTRAL, rng)
    off_d, (low, high) = float(np.abs(errors).mean()), CENTRAL_MARK
    late = " (missed)" if off_d > MARK_D[measured] and not quick else ""
    outside = "" if low <= central <= high or quick else " (missed)"
    return [
        f"{way}, {WORDS[measured]}",
        f"{len(judged)}",
        f"{off_d:.2f} d{late}",
        f"{np.mean(errors):+.2f} d",
        f"{central:.2f}{outside}",
    ]


def ready(*, quick: bool, markdown: bool = False) -> None:
    """Print how ready dates foretold a week ahead did.

    Parameters
    ----------
    quick
        Only every fifth year.
    markdown
        Whether for a document.
    """
    table = as_markdown if markdown else as_text
    rows = [
        ready_row(way, measured, judged, quick=quick)
        for way, hindsight in WAYS.items()
        for measured, judged in foretold(quick=quick, hindsight=hindsight).items()
    ]
    sys.stdout.write(f"{table(READY_HEADS, rows)}\n")


if __name__ == "__main__":
    ready(quick="--quick" in sys.argv)
