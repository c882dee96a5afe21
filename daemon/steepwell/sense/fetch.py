"""Fetches a forecast from the web."""

from __future__ import annotations

import logging
from http.client import HTTPException
from typing import TYPE_CHECKING
from urllib.parse import urlsplit
from urllib.request import Request, urlopen

from steepwell.sense.forecasts import take_forecast
from steepwell.sense.text import LARGEST_MESSAGE_BYTES

if TYPE_CHECKING:
    from datetime import datetime

    from steepwell.garden.garden import Garden
    from steepwell.store.store import Store

PATIENCE_S = 20.0

log = logging.getLogger(__name__)


def fetch_forecast(garden: Garden, store: Store, now: datetime) -> None:
    """Fetch the forecast from its address and keep it; say in the log if it does not come.

    Parameters
    ----------
    garden
        The garden; without an address of a forecast nothing is done.
    store
        Where it is kept.
    now
        The moment.
    """
    url = garden.forecast.url if garden.forecast is not None else None
    if url is None:
        return
    parts = urlsplit(url)
    # What follows the path may be a key to it, and is shown to nobody.
    where = f"{parts.scheme}://{parts.hostname}{parts.path}"
    asked = Request(url, headers={"Accept": "application/json", "User-Agent": "steepwell"})  # noqa: S310 - http or https, says the garden file
    try:
        with urlopen(asked, timeout=PATIENCE_S) as answer:  # noqa: S310 - the same
            payload: bytes = answer.read(LARGEST_MESSAGE_BYTES + 1)
    except (OSError, HTTPException, ValueError) as error:
        log.warning("no forecast comes from %s (%s); it is tried again in an hour", where, error)
        return
    take_forecast(garden, store, payload, where=where, now=now)
