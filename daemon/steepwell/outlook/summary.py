"""The ensemble summarised as one JSON document."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from steepwell.outlook.quantiles import QUANTILES, quantiles
from steepwell.outlook.vessel_summary import RANGE, vessels_document

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden
    from steepwell.outlook.futures import Futures
    from steepwell.outlook.state import State

SCHEMA = 1

Array = NDArray[np.float64]
Json = dict[str, Any]


def outlook_document(garden: Garden, state: State, futures: Futures) -> Json:
    """Return the outlook as JSON.

    Parameters
    ----------
    garden
        The garden.
    state
        What is so now.
    futures
        The members.

    Returns
    -------
    dict
        Ready for ``json.dumps``; volumes in L, ages in d, dates local.
    """
    days, members = futures.wanted_l.shape
    dates = [state.today + timedelta(days=day) for day in range(days)]
    return {
        "schema": SCHEMA,
        "issued": state.now.astimezone(garden.garden.zone).isoformat(timespec="seconds"),
        "garden": garden.name,
        "members": members,
        "days": [day.isoformat() for day in dates],
        "butts": _butts(garden, state, futures),
        "water": _water(garden, dates, futures),
        "beds": [
            {
                "name": bed.name,
                "depletion_mm": round(bed.depletion_mm, 1),
                "readily_available_mm": round(bed.raw_mm, 1),
                "p_stress": _shares(futures.stressed[:, index]),
            }
            for index, bed in enumerate(state.beds)
        ],
        "vessels": vessels_document(garden, state, futures, dates),
    }


def _butts(garden: Garden, state: State, futures: Futures) -> list[Json]:
    empty_l = np.array([butt.dead_volume + 0.01 * butt.capacity_l for butt in garden.butt])
    return [
        {
            "name": butt.name,
            "capacity_l": round(butt.capacity_l, 1),
            "now_l": round(state.butts[index].volume_l, 1),
            "volume_l": _rounded_quantiles(futures.volume_l[:, index]),
            "p_empty": _shares(futures.volume_l[:, index] <= empty_l[index]),
            "p_overflow": _shares(futures.full[:, index]),
        }
        for index, butt in enumerate(garden.butt)
    ]


def _water(garden: Garden, dates: list[date], futures: Futures) -> Json:
    dry = dry_days(garden, futures)
    first_dry = np.where(dry.any(axis=0), dry.argmax(axis=0), len(dates)).astype(float)
    shortfall = quantiles(futures.wanted_l.sum(axis=0) - futures.given_l.sum(axis=0), RANGE)
    wanted = quantiles(futures.wanted_l, ("p50",))
    return {
        "volume_l": _rounded_quantiles(futures.volume_l.sum(axis=1)),
        "p_dry": _shares(dry),
        "p_dry_by": _shares(np.logical_or.accumulate(dry, axis=0)),
        "dry_by": {name: _date_by(first_dry, QUANTILES[name], dates) for name in RANGE},
        "wanted_l": {"p50": _rounded(wanted["p50"])},
        "shortfall_l": {name: round(float(shortfall[name]), 1) for name in RANGE},
        "spilled_l": {"p50": round(float(np.median(futures.spilled_l.sum(axis=0))), 1)},
    }


def chance_of_dry(garden: Garden, futures: Futures, days: int) -> float:
    """Return the share of members that are dry on some day among the first ones.

    Parameters
    ----------
    garden
        The garden.
    futures
        The members.
    days
        How many days from today [d].

    Returns
    -------
    float
        From 0 to 1 [-].
    """
    return float(dry_days(garden, futures)[: days + 1].any(axis=0).mean())


def dry_days(garden: Garden, futures: Futures) -> NDArray[np.bool_]:
    """Return whether the garden is dry at the end of each day.

    Parameters
    ----------
    garden
        The garden.
    futures
        The members.

    Returns
    -------
    array of bool
        (days, members).
    """
    above, here = np.zeros_like(futures.wanted_l), np.empty_like(futures.wanted_l)
    for index, butt in enumerate(garden.butt):
        np.maximum(futures.volume_l[:, index], butt.dead_volume, out=here)
        here -= butt.dead_volume
        above += here
    return above < garden.dry_line_l


def _date_by(first_dry: Array, share: float, dates: list[date]) -> str | None:
    """Return the day by which a share of the members has run dry, None beyond the horizon."""
    day = int(np.quantile(first_dry, share, method="inverted_cdf"))
    return dates[day].isoformat() if day < len(dates) else None


def _rounded_quantiles(values: Array) -> Json:
    return {name: _rounded(row) for name, row in quantiles(values, tuple(QUANTILES)).items()}


def _rounded(values: Array) -> list[float]:
    rounded: list[float] = np.round(values, 1).tolist()
    return rounded


def _shares(flags: NDArray[np.bool_]) -> list[float]:
    shares: list[float] = np.round(np.count_nonzero(flags, axis=-1) / flags.shape[-1], 3).tolist()
    return shares
