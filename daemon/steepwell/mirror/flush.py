"""Sends what the mirror lacks, lot by lot, and says how far it came."""

from __future__ import annotations

import time
from dataclasses import asdict
from datetime import timedelta
from itertools import islice
from typing import TYPE_CHECKING, Any

from steepwell.clock import to_ms
from steepwell.errors import MirrorError
from steepwell.garden.days import local_day, midnight
from steepwell.mirror.lines import day_lines, outlook_lines, reading_line
from steepwell.mirror.server import MirrorServer
from steepwell.store.mirror import Sent

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime

    from steepwell.garden.garden import Garden
    from steepwell.store.store import Store

LOT = 5000
# Other work waits meanwhile; what is left then is sent a minute later.
SENDS_FOR_S = 30.0

Json = dict[str, Any]


def flush(
    garden: Garden,
    store: Store,
    now: datetime,
    *,
    sends_for_s: float = SENDS_FOR_S,
) -> Json:
    """Send what was handed over, until it is done, fails, or has taken long enough.

    Parameters
    ----------
    garden
        The garden, with its mirror.
    store
        What to send; it is only read.
    now
        The moment of the job.
    sends_for_s
        After how long no new lot is begun [s].

    Returns
    -------
    dict
        ``sent`` (as ``store.mirror.Sent``), ``more`` (whether something is left), and ``failure``:
        None, or ``reason``, ``lasting`` and ``retry_after_s``.
    """
    until_s = time.monotonic() + sends_for_s
    sent = Sent()
    more, failure = False, None
    try:
        with MirrorServer(garden, now) as server:
            for lines, taken in _lots(garden, store, now):
                if time.monotonic() > until_s:
                    more = True
                    break
                refused = server.send(lines) if lines else []
                sent = _and(sent, taken, refused)
    except MirrorError as error:
        more = True
        wait_s = error.retry_after.total_seconds() if error.retry_after is not None else None
        failure = {"reason": str(error), "lasting": error.lasting, "retry_after_s": wait_s}
    return {"sent": asdict(sent), "more": more, "failure": failure}


def _lots(garden: Garden, store: Store, now: datetime) -> Iterator[tuple[list[str], Sent]]:
    """Yield lines to send together, and what is settled when they are taken."""
    yield from _reading_lots(garden, store)
    state = store.mirror.state()
    if state is None:
        return
    if state.days_from is not None:
        today = local_day(garden, now)
        first = local_day(garden, state.days_from)
        lines = day_lines(garden, store, first, now) if first < today else []
        lots = _split(lines)
        for lot in lots[:-1]:
            yield lot, Sent()
        yield lots[-1], Sent(days_to_ms=to_ms(midnight(garden, today)))
    moment = timedelta(milliseconds=1)
    for issued in store.results.issued("outlook", state.issued + moment, now + moment):
        document = store.results.latest("outlook", issued)
        lots = _split(outlook_lines(garden, issued, document) if document else [])
        for lot in lots[:-1]:
            yield lot, Sent()
        yield lots[-1], Sent(issued_ms=to_ms(issued))


def _reading_lots(garden: Garden, store: Store) -> Iterator[tuple[list[str], Sent]]:
    sensors = {store.readings.ids[s.name]: s for s in garden.sensor if s.name in store.readings.ids}
    lines: list[str] = []
    spans: list[tuple[int, int]] = []
    for span in store.mirror.spans():
        sensor = sensors[span.sensor]
        rows = store.mirror.readings(span)
        while some := list(islice(rows, LOT - len(lines))):
            lines += [reading_line(garden, sensor, *row) for row in some]
            if len(lines) == LOT:
                yield lines, Sent(spans=[*spans, (span.id, some[-1][0])])
                lines, spans = [], []
        spans.append((span.id, span.last_ms))
    yield lines, Sent(spans=spans)


def _split(lines: list[str]) -> list[list[str]]:
    return [lines[start : start + LOT] for start in range(0, len(lines), LOT)] or [[]]


def _and(sent: Sent, more: Sent, refused: list[tuple[str, str]]) -> Sent:
    return Sent(
        spans=[*sent.spans, *more.spans],
        days_to_ms=more.days_to_ms if more.days_to_ms is not None else sent.days_to_ms,
        issued_ms=more.issued_ms if more.issued_ms is not None else sent.issued_ms,
        refused=[*sent.refused, *refused],
    )
