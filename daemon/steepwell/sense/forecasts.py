"""Keeps a forecast as it comes, and finds the last one."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from steepwell.clock import to_ms
from steepwell.errors import MessageRefusedError
from steepwell.garden.days import local_day
from steepwell.sense.forecast import ForecastDays, parse_forecast
from steepwell.store.arrivals import Batch

if TYPE_CHECKING:
    from datetime import datetime

    from steepwell.garden.garden import Garden
    from steepwell.store.store import Store

KIND: Literal["forecast"] = "forecast"


def take_forecast(
    garden: Garden, store: Store, payload: bytes, *, where: str, now: datetime
) -> None:
    """Keep a forecast, or keep it as refused with the reason.

    One that says the same as the last is not kept anew: it is as old as when it first came.

    Parameters
    ----------
    garden
        The garden; its file says where things stand in the forecast.
    store
        Where it is kept.
    payload
        The forecast as it came.
    where
        The topic on which it came, or the address.
    now
        When it came.
    """
    if garden.forecast is None:
        return
    kept = store.results.latest(KIND, now)
    last = None if kept is None else ForecastDays.from_json(kept)
    today = local_day(garden, now)
    try:
        heard = parse_forecast(payload, garden.forecast, today, last)
    except MessageRefusedError as error:
        refused = (to_ms(now), where, payload, str(error))
        store.readings.write(Batch(refused=[refused]))
    else:
        if heard is not last:
            store.results.save(KIND, now, heard.to_json())


def latest_forecast(garden: Garden, store: Store, now: datetime) -> ForecastDays | None:
    """Return the last forecast, unless there is none or its days are over.

    Parameters
    ----------
    garden
        The garden.
    store
        Where it is kept.
    now
        The moment; what came later is not seen.

    Returns
    -------
    ForecastDays or None
        None too where the garden file names no forecast, or no longer.
    """
    kept = None if garden.forecast is None else store.results.latest(KIND, now)
    forecast = None if kept is None else ForecastDays.from_json(kept)
    if forecast is None or forecast.days[-1].day < local_day(garden, now):
        return None
    return forecast
