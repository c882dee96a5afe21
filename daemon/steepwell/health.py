"""How the machine is: whether a daemon runs, how old what it knows is, what waits."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Any

from steepwell.clock import from_ms
from steepwell.standing_by import last_pulse, running_daemon

if TYPE_CHECKING:
    from datetime import datetime

    from steepwell.garden.garden import Garden
    from steepwell.store.store import Store

Json = dict[str, Any]


def health_report(garden: Garden, store: Store, now: datetime) -> Json:
    """Return the figures by which another program can tell that all is well.

    Parameters
    ----------
    garden
        The garden.
    store
        Its store.
    now
        The present moment.

    Returns
    -------
    dict
        ``process`` (None if no daemon runs); ``connected`` to the broker and ``queue`` (messages
        that have come and are not written), as of ``pulse``; ``last_commit`` (newest reading
        written) and ``commit_age_s``; ``outlook_age_s``; ``outbox`` (mails that wait);
        ``mirror_lag_s``.
    """
    zone = garden.garden.zone
    newest = store.readings.newest_times().values()
    last = from_ms(max(newest)) if newest else None
    outlook = store.ledger.last("outlook")
    mirror = store.mirror.state() if garden.mirror is not None else None
    pulse = last_pulse(garden) or {}
    return {
        "process": running_daemon(garden),
        "pulse": pulse.get("at"),
        "connected": pulse.get("connected"),
        "queue": pulse.get("queue"),
        "last_commit": last.astimezone(zone).isoformat(timespec="seconds") if last else None,
        "commit_age_s": _age_s(last, now),
        "outlook_age_s": _age_s(outlook, now),
        "outbox": store.outbox.waiting(now),
        "mirror_lag_s": _age_s(mirror.complete, now) if mirror is not None else None,
    }


def health_line(report: Json) -> str:
    """Return what ``steepwell status`` says of the daemon."""
    if report["process"] is None:
        return "No daemon runs; what stands here is as old as it says. Start it: steepwell run"
    link = {True: ", connected to the broker", False: ", without the broker", None: ""}
    queue = f", {report['queue']} messages to write" if report["queue"] else ""
    return f"Looked after by process {report['process']}{link[report['connected']]}{queue}."


def _age_s(then: datetime | None, now: datetime) -> int | None:
    return None if then is None else (now - then) // timedelta(seconds=1)
