"""Fetches a forecast from the web."""

from __future__ import annotations

import logging
import time
from http.client import HTTPException
from typing import TYPE_CHECKING
from urllib.parse import urlsplit
from urllib.request import Request, urlopen

from steepwell.sense.forecasts import take_forecast
from steepwell.sense.text import LARGEST_MESSAGE_BYTES

if TYPE_CHECKING:
    from datetime import datetime
    from http.client import HTTPResponse

    from steepwell.garden.garden import Garden
    from steepwell.store.store import Store

PATIENCE_S = 20.0

log = logging.getLogger(__name__)


def fetch_forecast(
    garden: Garden, store: Store, now: datetime, *, patience_s: float = PATIENCE_S
) -> None:
    """Fetch the forecast from its address and keep it; say in the log if it does not come.

    Parameters
    ----------
    garden
        The garden; without an address of a forecast nothing is done.
    store
        Where it is kept.
    now
        The moment.
    patience_s
        How long to wait for an answer, and as long again for all of it [s].
    """
    url = garden.forecast.url if garden.forecast is not None else None
    if url is None:
        return
    parts = urlsplit(url)
    # What follows the path may be a key to it, and is shown to nobody.
    where = f"{parts.scheme}://{parts.hostname}{parts.path}"
    asked = Request(url, headers={"Accept": "application/json", "User-Agent": "steepwell"})  # noqa: S310 - http or https, says the garden file
    try:
        with urlopen(asked, timeout=patience_s) as answer:  # noqa: S310 - the same
            payload = _read(answer, patience_s)
    except (OSError, HTTPException, ValueError) as error:
        log.warning("no forecast comes from %s (%s); it is tried again in an hour", where, error)
        return
    take_forecast(garden, store, payload, where=where, now=now)


def _read(answer: HTTPResponse, patience_s: float) -> bytes:
    """Read an answer, however slowly it trickles, and no more than shows that it is too long."""
    until_s = time.monotonic() + patience_s
    payload = b""
    while len(payload) <= LARGEST_MESSAGE_BYTES:
        more = answer.read1(LARGEST_MESSAGE_BYTES + 1 - len(payload))
        if not more:
            break
        payload += more
        if time.monotonic() > until_s:
            raise TimeoutError(f"it was not all there after {patience_s:g} s")
    return payload
