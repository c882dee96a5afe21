"""What a note means for a vessel: what is left of it, how far to thin it, since when."""

from __future__ import annotations

import math
from datetime import timedelta
from typing import TYPE_CHECKING, Any

import numpy as np

from steepwell.decide.locks import barring, locks_on
from steepwell.errors import JournalError, WeatherRecordError
from steepwell.garden.days import local_day
from steepwell.outlook.calendar import standing_on
from steepwell.outlook.observed import observe
from steepwell.outlook.persistence import carry_warmth_on, warmer_than_usual_c
from steepwell.outlook.state import State
from steepwell.outlook.steeps import LEARNING_D, steeps_now
from steepwell.outlook.vessel_futures import run_vessels, uncertain_steeps
from steepwell.outlook.weather import future_weather, known_weather
from steepwell.store.entries import (
    BeanTest,
    ConductivityMeasured,
    Corrected,
    Decanted,
    DrawnOff,
    Fed,
    JobDone,
    ReadyConfirmed,
    SicknessSeen,
    SteepStarted,
    TooStrong,
    ToppedUp,
    VesselEmptied,
)
from steepwell.store.later_checks import doubt_about
from steepwell.store.steeps import steep_in
from steepwell.tell.waiting import the_wait
from steepwell.tell.wording import the_vessel, vessel_named
from steepwell.words.figures import day, litres, strung
from steepwell.words.saying import say

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date, datetime

    from steepwell.garden.garden import Garden
    from steepwell.outlook.observed import Observed
    from steepwell.outlook.record import Record
    from steepwell.outlook.state import SteepNow
    from steepwell.store.entries import Entry
    from steepwell.store.store import Store

Json = dict[str, Any]

MEMBERS, HORIZON_D = 100, 120
_OF_CONTENTS = (
    BeanTest,
    ConductivityMeasured,
    Decanted,
    DrawnOff,
    Fed,
    JobDone,
    ReadyConfirmed,
    SicknessSeen,
    SteepStarted,
    TooStrong,
    ToppedUp,
    VesselEmptied,
)
ML_A_LITRE = 1000.0
# Spoons and cans are not measured more closely than this.
FAR_TOO_STRONG = 1.5
_HARDEST_FIRST = ("all", "all-but-grass", "family")


def check_may_be_fed(garden: Garden, store: Store, entry: Fed) -> str:
    """Raise a JournalError if a bed is said to be fed from a vessel that is locked or not ready.

    Parameters
    ----------
    garden
        The garden.
    store
        Readings and journal.
    entry
        The entry, which stands in no journal yet.

    Returns
    -------
    str
        What to do where it was far too strong, else empty.

    Raises
    ------
    JournalError
        The message says what is so and what to do.
    """
    entries = store.journal.entries(entry.at)
    today = local_day(garden, entry.at)
    bed = next(bed for bed in garden.bed if bed.name == entry.bed)
    standing = standing_on(garden, bed, today, entries)
    family = standing.table.family if standing else ""
    lock = barring(locks_on(garden, entries, today), entry.vessel, family)
    if lock is not None:
        raise JournalError(
            say("refused.locked", vessel=the_vessel(entry.vessel), because=lock.because)
        )
    steep, _, _ = _steep(garden, store, entry.vessel, entry.at)
    if steep.ended:
        raise JournalError(say("refused.at-its-end", vessel=the_vessel(entry.vessel)))
    if steep.started is not None and steep.dilution_parts is None:
        unknown = math.isnan(steep.thermal_age_d)
        raise JournalError(
            say("refused.not-known-ready" if unknown else "refused.not-ready", vessel=entry.vessel)
        )
    feed_l = entry.cans * entry.feed_ml / ML_A_LITRE
    if feed_l > steep.usable_l:
        raise JournalError(
            say(
                "refused.more-feed-than-there",
                litres=litres(feed_l),
                vessel=entry.vessel,
                there=litres(steep.usable_l),
            )
        )
    return _too_strong(garden.can.size, entry.feed_ml, steep.dilution_parts)


def _too_strong(can_l: float, feed_ml: float, due_parts: int | None) -> str:
    given_parts = max(can_l * ML_A_LITRE / feed_ml - 1.0, 0.0)
    if due_parts is None or given_parts >= due_parts / FAR_TOO_STRONG:
        return ""
    undiluted = round(given_parts) == 0
    given = say("means.undiluted") if undiluted else f"1:{given_parts:.0f}"
    return say("means.too-strong", given=given, due=f"1:{due_parts}")


def may_be_fed_task(garden: Garden, store: Store, now: datetime, seed: int, *, entry: Json) -> Json:  # noqa: ARG001
    """Say whether a bed may be fed as an entry has it that is to be noted.

    Parameters
    ----------
    garden
        The garden.
    store
        Readings and journal.
    now
        The moment.
    seed
        Not used.
    entry
        The entry, which was checked in all other ways.

    Returns
    -------
    dict
        ``refused``, a sentence, or None.
    """
    try:
        check_may_be_fed(garden, store, Fed.model_validate(entry))
    except JournalError as error:
        return {"refused": str(error)}
    return {"refused": None}


def vessel_of(entry: Entry, existing: Sequence[Entry]) -> str | None:
    """Return the vessel whose contents an entry changes, or the one it withdraws; None if none."""
    if isinstance(entry, Corrected):
        withdrawn = (other for other in existing if other.id == entry.withdraws)
        return next((vessel_of(other, ()) for other in withdrawn), None)
    return entry.vessel if isinstance(entry, _OF_CONTENTS) else None


def what_no_longer_fits(
    garden: Garden, vessel: str, before: Sequence[Entry], after: Sequence[Entry]
) -> str:
    """Return which entry on a vessel cannot be since another was withdrawn, empty if all can."""
    doubt = doubt_about(vessel, garden, before, after)
    return "" if doubt is None else say("means.no-longer-fits", doubt=doubt)


def what_it_means(garden: Garden, store: Store, name: str, now: datetime) -> str:
    """Return what is so of a vessel, empty if nothing steeps in it.

    Parameters
    ----------
    garden
        The garden.
    store
        Readings and journal.
    name
        The vessel.
    now
        The moment.

    Returns
    -------
    str
        Such as "Leek vessel: 52 L left, use 1:150, ready since 3 June".
    """
    entries = store.journal.entries(now)
    if steep_in(entries, name, now) is None:
        return ""
    steep, observed, record = _steep(garden, store, name, now)
    left = say("means.left", vessel=vessel_named(name), litres=litres(steep.usable_l))
    locks = [
        lock for lock in locks_on(garden, entries, local_day(garden, now)) if lock.vessel == name
    ]
    if locks:
        hardest = min(locks, key=lambda lock: _HARDEST_FIRST.index(lock.bars))
        locked = say("means.locked", left=left, because=hardest.because)
        but_grass = hardest.bars == "all-but-grass"
        return strung([locked, say("means.grass-only")]) if but_grass else locked
    if steep.ended:
        return strung([left, say("means.at-its-end")])
    if steep.dilution_parts is not None and steep.ready_since is not None:
        since = day(local_day(garden, steep.ready_since))
        return say("means.ready", left=left, use=f"1:{steep.dilution_parts}", day=since)
    if math.isnan(steep.thermal_age_d):
        return strung([left, say("means.age-not-known", vessel=name)])
    ready = _ready_days(garden, steep, observed, record, now)
    began = local_day(garden, steep.ripens_from or now)
    return say("means.waits", left=left, wait=the_wait(began, ready))


def _steep(
    garden: Garden, store: Store, name: str, now: datetime
) -> tuple[SteepNow, Observed, Record | None]:
    try:
        record = known_weather(garden)
    except WeatherRecordError:
        record = None
    entries = store.journal.entries(now)
    begun = [local_day(garden, e.at) for e in entries if isinstance(e, SteepStarted)]
    first = min([local_day(garden, now) - timedelta(days=LEARNING_D), *begun])
    observed = observe(garden, store, record, entries, first=first, now=now)
    steeps = steeps_now(garden, store, observed, record, entries=entries, now=now)
    return next(steep for steep in steeps if steep.vessel == name), observed, record


def _ready_days(
    garden: Garden, steep: SteepNow, observed: Observed, record: Record | None, now: datetime
) -> tuple[date, date, date] | None:
    """Return by when the vessel is ready in a tenth, half and nine tenths of futures."""
    today = local_day(garden, now)
    seed = now.toordinal()
    if record is None:
        return None
    try:
        weather = future_weather(garden, record, today, HORIZON_D, MEMBERS, seed=seed)
    except WeatherRecordError:
        return None
    warmer_c = warmer_than_usual_c(observed, record)
    if warmer_c is not None:
        weather = carry_warmth_on(weather, record, today, warmer_c)
    vessel = next(vessel for vessel in garden.vessel if vessel.name == steep.vessel)
    alone = garden.model_copy(update={"vessel": (vessel,)})
    state = State(now, today, 0.0, (), (), (), (), (steep,))
    draws = uncertain_steeps(alone, state, MEMBERS, np.random.default_rng(seed))
    _, ready_in_d = run_vessels(alone, state, weather, draws)
    days = np.quantile(ready_in_d[0], [0.1, 0.5, 0.9], method="inverted_cdf")
    if not np.isfinite(days).all():
        return None
    first, middle, last = (local_day(garden, now + timedelta(days=float(d))) for d in days)
    return first, middle, last
