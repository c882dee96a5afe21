"""The steeps of an ensemble summed up: when each is ready, and how far to thin it on a day."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from steepwell.model.dilution import LADDER, MOST_PARTS, dilution_parts
from steepwell.outlook.quantiles import QUANTILES, quantiles

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.garden.garden import Garden
    from steepwell.garden.growing import Vessel
    from steepwell.outlook.futures import Futures
    from steepwell.outlook.state import State, SteepNow

RANGE = ("p10", "p50", "p90")

Array = NDArray[np.float64]
Json = dict[str, Any]


def vessels_document(
    garden: Garden, state: State, futures: Futures, dates: list[date]
) -> list[Json]:
    """Return what the outlook says of each vessel.

    Parameters
    ----------
    garden
        The garden.
    state
        What is so now.
    futures
        The members.
    dates
        The days ahead.

    Returns
    -------
    list of dict
        In the order of the garden file.
    """
    return [
        _vessel(garden, vessel, state, futures, dates, index)
        for index, vessel in enumerate(garden.vessel)
    ]


def _vessel(  # noqa: PLR0917 - one vessel of all that is summed up
    garden: Garden,
    vessel: Vessel,
    state: State,
    futures: Futures,
    dates: list[date],
    index: int,
) -> Json:
    steep, ages = state.vessels[index], futures.age_d[:, index]
    told: Json = {
        "name": steep.vessel,
        "temperature_c": round(steep.temperature_c, 1),
        "thermal_age_d": None,
        "dilution_parts": None,
        "ready": None,
        "dilution_on": {},
        "rung_on": {},
        "started": None,
        "ready_since": None,
        "usable_l": None,
        "usable_most_l": None,
        "ended": False,
    }
    if steep.started is None:
        return told
    zone = garden.garden.zone
    label = steep.dilution_parts
    firsts = [row for row, day in enumerate(dates) if day.day == 1]
    calendar_d = np.array([steep.calendar_age_d(state.now) + row + 1.0 for row in firsts])
    return {
        **told,
        "thermal_age_d": round(steep.thermal_age_d, 2),
        "dilution_parts": label,
        "ready": _ready(state.now.astimezone(zone), futures.ready_in_d[index]),
        "dilution_on": _dilution_on(steep, ages[firsts], [dates[row] for row in firsts]),
        "rung_on": _rung_on(
            steep,
            vessel.ladder or LADDER,
            np.maximum(ages[firsts], calendar_d[:, None]),
            days=[dates[row] for row in firsts],
            label=label,
            now=state.now,
        ),
        "started": steep.started.astimezone(zone).date().isoformat(),
        "ready_since": (
            steep.ready_since.astimezone(zone).date().isoformat() if steep.ready_since else None
        ),
        "usable_l": round(steep.usable_l, 1),
        "usable_most_l": round(steep.usable_l + steep.presumed_l, 1),
        "ended": steep.ended,
    }


def _parts(steep: SteepNow, ages_d: Array) -> Array:
    """Return what its liquid comes to as each cohort ages, if nothing is drawn or added [-]."""
    contents = steep.contents
    if contents is None:
        return np.minimum(dilution_parts(ages_d), MOST_PARTS)
    if contents.liquid_l <= 0.0:
        return np.full_like(ages_d, MOST_PARTS)
    gained_d = ages_d - contents.cohorts[0].age_d
    given_l = sum(
        cohort.steeps_l * dilution_parts(np.maximum(cohort.age_d + gained_d, 0.0))
        - cohort.steeps_l * dilution_parts(cohort.age_d)
        for cohort in contents.cohorts
    )
    parts = (contents.makes_l + given_l) / contents.liquid_l - 1.0
    return np.clip(parts, 0.0, MOST_PARTS)


def _dilution_on(steep: SteepNow, ages_d: Array, days: Sequence[date]) -> Json:
    """Return the parts of water to one of feed by warmth alone, on the first of each month."""
    parts = quantiles(_parts(steep, ages_d), RANGE)
    return {
        day.isoformat(): {name: round(float(parts[name][row])) for name in RANGE}
        for row, day in enumerate(days)
    }


def _rung_on(
    steep: SteepNow,
    ladder: Sequence[int],
    ages_d: Array,
    *,
    days: Sequence[date],
    label: int | None,
    now: datetime,
) -> Json:
    """Return on which rung the label will be, on the first of each month, and how likely."""
    at = rungs_ahead(steep, ladder, ages_d, label=label, now=now)
    return {
        day.isoformat(): {
            str(ladder[step]): round(float((at[row] == step).mean()), 3)
            for step in np.unique(at[row]).tolist()
        }
        for row, day in enumerate(days)
    }


def rungs_ahead(
    steep: SteepNow, ladder: Sequence[int], ages_d: Array, *, label: int | None, now: datetime
) -> NDArray[np.intp]:
    """Return on which rung of its ladder a steep will be told at ages to come.

    Parameters
    ----------
    steep
        The steep.
    ladder
        Its rungs.
    ages_d
        The greater of its thermal and its calendar age; (days, members) [d].
    label
        What is told of it now, None while it is not ready.
    now
        The moment.

    Returns
    -------
    array of int
        Positions on the ladder, like ``ages_d``.
    """
    by_age = _rungs(_parts(steep, np.array([[_told_age_d(steep, now)]])), ladder)[0, 0]
    # What was measured or seen holds it on thinner rungs than its ages alone.
    thinner = 0 if label is None else max(ladder.index(label) - int(by_age), 0)
    at: NDArray[np.intp] = np.minimum(
        _rungs(_parts(steep, ages_d), ladder) + thinner, len(ladder) - 1
    )
    return at


def _told_age_d(steep: SteepNow, now: datetime) -> float:
    return float(np.fmax(steep.thermal_age_d, steep.calendar_age_d(now)))


def _rungs(parts: Array, ladder: Sequence[int]) -> NDArray[np.intp]:
    at = np.searchsorted(np.array(ladder, dtype=float), parts * (1.0 - 1e-9))
    rungs: NDArray[np.intp] = np.minimum(at, len(ladder) - 1)
    return rungs


def _ready(now: datetime, ready_in_d: Array) -> Json:
    shares = [QUANTILES[name] for name in RANGE]
    days = np.quantile(ready_in_d, shares, method="inverted_cdf").tolist()
    finite = {
        name: value if np.isfinite(value) else None for name, value in zip(RANGE, days, strict=True)
    }
    return {
        **{
            name: None if value is None else (now + timedelta(days=value)).date().isoformat()
            for name, value in finite.items()
        },
        "in_d": {name: None if v is None else round(v, 2) for name, v in finite.items()},
    }
