"""A butt that falls fast was watered from, even if nobody said so; for which bed is a guess."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Any

from steepwell.clock import to_ms
from steepwell.garden.days import local_day, midnight
from steepwell.outlook.calendar import standing_on
from steepwell.outlook.comings import drawn_since
from steepwell.outlook.falls import Fall, falls_on
from steepwell.outlook.habit import LEARNED_OVER_D
from steepwell.store.dated import away_on
from steepwell.store.entries import ButtEmptied, Entry, JobNotDone, NotWatered, Watered
from steepwell.store.tasks import WATER

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date, datetime

    from steepwell.garden.garden import Garden
    from steepwell.store.store import Store

Json = dict[str, Any]

GUESS = "guess"
# More than this on all beds in a day is no watering: a butt was emptied, or leaks.
MOST_MM = 25.0
LEAST_L = 0.05


def guessed_waterings(
    garden: Garden, store: Store, entries: Sequence[Entry], now: datetime
) -> list[Watered]:
    """Return the waterings that nobody noted and a butt gave away.

    A guess gives way to any watering noted on its day, and nothing is guessed of days on which the
    gardener is away, of a butt that was emptied that day, or of one of which he says that it was no
    watering; a bed of which he says that it had none has none, and another its share if he says so;
    what was noted as drawn for steeps and feed is none. The level of a
    butt shows what is gone already, so that guesses are for the beds and the gardener's habit only.

    Parameters
    ----------
    garden
        The garden.
    store
        Levels, and the plans by which a fall is shared out over the beds.
    entries
        The journal.
    now
        The moment of the job.

    Returns
    -------
    list of Watered
        Of the last six weeks, in order of time, said by "guess".
    """
    if not garden.bed:
        return []
    today = local_day(garden, now)
    noted = {local_day(garden, entry.at) for entry in entries if isinstance(entry, Watered)}
    past = (today - timedelta(days=ago) for ago in range(LEARNED_OVER_D, -1, -1))
    silent = [day for day in past if day not in noted and away_on(entries, day) is None]
    found = falls_on(garden, store, silent, now)
    guesses: list[Watered] = []
    for day, falls in found.items():
        plan = store.results.latest("plan", min(fall.at for fall in falls))
        not_from = _not_watered_from(garden, entries, day)
        may_be = [fall for fall in falls if not not_from & {fall.butt, None}]
        for fall in _unexplained(garden, entries, day, may_be):
            guesses += _shared_out(garden, entries, plan, day, fall)
    return sorted(guesses, key=lambda guess: guess.at)


def _not_watered_from(garden: Garden, entries: Sequence[Entry], day: date) -> set[str | None]:
    """Return the butts of which nothing is guessed on a day; None among them stands for all."""
    return {
        entry.butt
        for entry in entries
        if isinstance(entry, ButtEmptied | NotWatered) and local_day(garden, entry.at) == day
    }


def _unexplained(
    garden: Garden, entries: Sequence[Entry], day: date, falls: Sequence[Fall]
) -> list[Fall]:
    """Return what is left of a day's falls without what was noted as drawn on it."""
    begin, end = (to_ms(midnight(garden, day + timedelta(days=ahead))) for ahead in (0, 1))
    noted_l = sum(
        draw.litres
        for draw in drawn_since(garden, entries, begin)
        if draw.litres > 0.0 and draw.at_ms < end
    )
    fallen_l = sum(fall.litres for fall in falls)
    left_l = fallen_l - noted_l
    area_m2 = sum(bed.area for bed in garden.bed)
    if not garden.can.size / 2 <= left_l <= MOST_MM * area_m2:
        return []
    return [Fall(fall.at, fall.butt, fall.litres * left_l / fallen_l) for fall in falls]


def _shared_out(
    garden: Garden, entries: Sequence[Entry], plan: Json | None, day: date, fall: Fall
) -> list[Watered]:
    shares = _by_plan(garden, plan, day, fall.butt) or _by_area(garden, entries, day, fall.butt)
    shares = _as_noted(shares, entries, day)
    whole = sum(shares.values())
    given_l = {bed: fall.litres * share / whole for bed, share in shares.items()}
    return [
        Watered(at=fall.at, by=GUESS, bed=bed, litres=litres, butt=fall.butt)
        for bed, litres in given_l.items()
        if litres > LEAST_L
    ]


def _as_noted(shares: dict[str, float], entries: Sequence[Entry], day: date) -> dict[str, float]:
    """Return the shares without beds of which it is noted that they had none, or who had theirs."""
    kept = dict(shares)
    for entry in entries:
        if isinstance(entry, JobNotDone) and (entry.what, entry.day) == (WATER, day):
            share = kept.pop(entry.bed, 0.0)
            if entry.instead is not None and share:
                kept[entry.instead] = kept.get(entry.instead, 0.0) + share
    return kept


def _by_plan(garden: Garden, plan: Json | None, day: date, butt: str) -> dict[str, float]:
    """Return what the last plan gave each bed on a day: from this butt, else from any [L].

    Where it told no water for that day, what it gave each bed in its week.
    """
    if plan is None:
        return {}
    beds = {bed.name for bed in garden.bed}
    lines = [line for line in plan["water"] if line["bed"] in beds and line["litres"] > 0]
    on_day = [line for line in lines if day.isoformat() in line["days"]]
    for some in (on_day, lines):
        from_here = [line for line in some if line["from"] == butt]
        if from_here or some:
            return {line["bed"]: _a_day_l(line) for line in from_here or some}
    return {}


def _a_day_l(line: Json) -> float:
    return float(line["daily_l"] or line["litres"] / max(len(line["days"]), 1))


def _by_area(garden: Garden, entries: Sequence[Entry], day: date, butt: str) -> dict[str, float]:
    """Return the weight of each bed that grows something: those of this butt, else all."""
    growing = [
        bed for bed in garden.bed if standing_on(garden, bed, day, entries) is not None
    ] or list(garden.bed)
    near = [bed for bed in growing if bed.butt == butt] or growing
    return {bed.name: bed.area * bed.priority for bed in near}
