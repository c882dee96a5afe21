"""What came into the butts off the roofs, and what was noted as drawn from them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from steepwell.clock import from_ms, to_ms
from steepwell.garden.days import local_day, midnight
from steepwell.outlook.gutters import DRIES_IN_H
from steepwell.store.entries import Entry, Fed, SteepStarted, TapWaterAdded, ToppedUp, Watered
from steepwell.store.readings import HOUR_MS

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from steepwell.garden.garden import Garden
    from steepwell.outlook.butts import Chain
    from steepwell.outlook.observed import Observed

# At one and the same time it rains first, then probes measure, then somebody does something.
RAIN_TURN = -2

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Rained:
    """Water off the roofs.

    Attributes
    ----------
    at_ms
        When it began to come [ms since 1970].
    inflow_l
        For each butt of the chain [L].
    guessed
        Whether nobody measured the rain.
    """

    at_ms: int
    inflow_l: Sequence[float]
    guessed: bool = False

    @property
    def turn(self) -> int:
        """At one and the same time it rains first."""
        return RAIN_TURN


@dataclass(frozen=True, slots=True)
class Drawn:
    """Water taken out, or added where it is negative.

    Attributes
    ----------
    at_ms
        When [ms since 1970].
    litres
        How much [L].
    butt
        From which butt, None for all by what is in them.
    turn
        Its number in the journal, for what was noted of one and the same time.
    """

    at_ms: int
    litres: float
    butt: str | None
    turn: int


def rained_since(
    garden: Garden,
    chain: Chain,
    observed: Observed,
    since_ms: int,
    *,
    runoff: Array,
    cuts_ms: Sequence[int],
) -> list[Rained]:
    """Return what came off the roofs: by the hour where the gauge tells, else by the day.

    Parameters
    ----------
    garden
        The garden.
    chain
        Its butts.
    observed
        The rain.
    since_ms
        The moment after which it counts [ms since 1970].
    runoff
        Runoff coefficient of each roof [-].
    cuts_ms
        Moments in rising order at which water is read or drawn; one rain is told in one piece
        between two of them [ms since 1970].

    Returns
    -------
    list of Rained
        A day of which the hours are not known counts as if it had rained when it began.
    """
    return [
        *_by_hours(chain, observed, since_ms, runoff, cuts_ms),
        *_by_days(garden, chain, observed, since_ms, runoff),
    ]


def _by_hours(
    chain: Chain, observed: Observed, since_ms: int, runoff: Array, cuts_ms: Sequence[int]
) -> list[Rained]:
    inflow_l = chain.hourly_inflow_l(observed.hour_rain_mm, observed.hour_ms, runoff)
    counts = observed.hour_ms > since_ms
    hour_ms, inflow_l = observed.hour_ms[counts], inflow_l[:, counts]
    if not len(hour_ms):
        return []
    dried = np.diff(hour_ms) > DRIES_IN_H * HOUR_MS
    cut = np.diff(np.searchsorted(cuts_ms, hour_ms, side="left")) > 0
    starts = np.flatnonzero(np.append(True, dried | cut))
    arrived_l = np.add.reduceat(inflow_l, starts, axis=1)
    return [
        Rained(int(hour_ms[start]), arrived_l[:, index].tolist())
        for index, start in enumerate(starts)
    ]


def _by_days(
    garden: Garden, chain: Chain, observed: Observed, since_ms: int, runoff: Array
) -> list[Rained]:
    since = local_day(garden, from_ms(since_ms))
    rain_mm = np.append(observed.rain_mm, observed.rain_today_mm)
    guessed = np.append(observed.rain_guessed, False)
    hours = np.bincount(observed.hour_day, minlength=len(rain_mm))
    by_day = np.flatnonzero((rain_mm > 0) & (hours == 0))
    inflow_l = chain.inflow_l(rain_mm[by_day], runoff)
    begins = [observed.day(index) for index in by_day.tolist()]
    return [
        Rained(_begins_ms(garden, day), inflow_l[:, column].tolist(), bool(guessed[index]))
        for column, (index, day) in enumerate(zip(by_day.tolist(), begins, strict=True))
        if day > since
    ]


def _begins_ms(garden: Garden, day: date) -> int:
    return to_ms(midnight(garden, day))


def drawn_since(garden: Garden, entries: Sequence[Entry], since_ms: int) -> list[Drawn]:
    """Return what was noted as taken from the butts, or put into them.

    Parameters
    ----------
    garden
        The garden.
    entries
        The journal.
    since_ms
        The moment from which on it counts [ms since 1970].

    Returns
    -------
    list of Drawn
        In order of time. Feed takes its cans of water only on a bed that was not watered that day,
        for else it went into the cans that were noted.
    """
    recent = [entry for entry in entries if to_ms(entry.at) >= since_ms]
    watered = {
        (entry.bed, local_day(garden, entry.at)) for entry in recent if isinstance(entry, Watered)
    }
    drawn = []
    for entry in recent:
        litres, butt = 0.0, None
        match entry:
            case Watered():
                litres, butt = entry.litres, entry.butt
            case SteepStarted():
                litres = entry.water_l or 0.0
            case ToppedUp():
                litres = entry.litres
            case TapWaterAdded():
                litres, butt = -entry.litres, entry.butt
            case Fed() if (entry.bed, local_day(garden, entry.at)) not in watered:
                litres = entry.cans * garden.can.size
            case _:
                pass
        if litres:
            drawn.append(Drawn(to_ms(entry.at), litres, butt, entry.id or 0))
    return drawn
