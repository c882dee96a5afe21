"""How the daemon is, for other programs: ``/healthz`` and ``/metrics``."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Any, NamedTuple

from starlette.responses import JSONResponse, Response

from steepwell.clock import from_ms
from steepwell.errors import StoreError
from steepwell.health import health_report
from steepwell.page.desk import desk_of

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime

    from prometheus_client.core import Metric
    from starlette.requests import Request

    from steepwell.page.desk import Desk

HEALTH = "application/health+json"
OPEN_METRICS = "application/openmetrics-text; version=1.0.0; charset=utf-8"

Json = dict[str, Any]


class Figure(NamedTuple):
    """One figure of the daemon's health: its key, name in metrics, unit, and what it may come to.

    Attributes
    ----------
    key
        In the report of the daemon's health.
    check
        Its name as a check.
    unit
        Unit of the check, empty for a count.
    metric
        Its name among the metrics.
    told
        What it is.
    most
        Beyond this something is not as it should be; None where any is fine.
    """

    key: str
    check: str
    unit: str
    metric: str
    told: str
    most: float | None


FIGURES = (
    Figure(
        "outlook_age_s",
        "outlook:age",
        "s",
        "steepwell_outlook_age_seconds",
        "Age of the outlook.",
        timedelta(hours=30).total_seconds(),
    ),
    Figure(
        "commit_age_s",
        "readings:age",
        "s",
        "steepwell_last_commit_age_seconds",
        "Age of the newest reading written.",
        timedelta(days=1).total_seconds(),
    ),
    Figure(
        "queue",
        "readings:queue",
        "",
        "steepwell_queue_messages",
        "Messages that have come and are not written.",
        None,
    ),
    Figure(
        "outbox",
        "outbox:waiting",
        "",
        "steepwell_outbox_waiting_messages",
        "Messages to people that are not handed over.",
        None,
    ),
    Figure(
        "mirror_lag_s",
        "mirror:lag",
        "s",
        "steepwell_mirror_lag_seconds",
        "Time since the mirror had everything.",
        timedelta(days=1).total_seconds(),
    ),
    Figure(
        "connected",
        "broker:connected",
        "",
        "steepwell_broker_connected",
        "Whether there is a connection to the broker.",
        None,
    ),
)


def healthz(request: Request) -> Response:
    """Answer whether all is well: pass or warn as 200, fail as 503."""
    desk = desk_of(request)
    try:
        report = health_report(desk.garden, desk.store, desk.clock.now())
    except StoreError as error:
        failed = {"status": "fail", "output": str(error)}
        return JSONResponse(failed, 503, media_type=HEALTH)
    checks = {
        figure.check: [_check(figure, report[figure.key])]
        for figure in FIGURES
        if report[figure.key] is not None
    }
    all_pass = all(check["status"] == "pass" for (check,) in checks.values())
    status = "pass" if all_pass and "outlook:age" in checks else "warn"
    return JSONResponse({"status": status, "checks": checks}, media_type=HEALTH)


def _check(figure: Figure, value: float) -> Json:
    too_much = figure.most is not None and value > figure.most
    status = "warn" if too_much or value is False else "pass"
    unit = {"observedUnit": figure.unit} if figure.unit else {}
    return {"observedValue": value, **unit, "status": status}


def metrics(request: Request) -> Response:
    """Answer with the figures of the daemon's health, as OpenMetrics."""
    from prometheus_client import CollectorRegistry  # noqa: PLC0415 - few ask for it
    from prometheus_client.openmetrics.exposition import generate_latest  # noqa: PLC0415 - the same

    registry = CollectorRegistry(auto_describe=False)
    registry.register(_Collector(desk_of(request)))
    return Response(generate_latest(registry), headers={"Content-Type": OPEN_METRICS})


class _Collector:
    """Looks the figures up when they are asked for."""

    def __init__(self, desk: Desk) -> None:
        self._desk = desk

    def collect(self) -> Iterator[Metric]:
        """Yield each figure that is known."""
        from prometheus_client.core import (  # noqa: PLC0415 - few ask for it
            CounterMetricFamily,
            GaugeMetricFamily,
        )

        desk, now = self._desk, self._desk.clock.now()
        report = health_report(desk.garden, desk.store, now)
        for figure in FIGURES:
            if report[figure.key] is not None:
                unit = "seconds" if figure.unit == "s" else ""
                value = float(report[figure.key])
                yield GaugeMetricFamily(figure.metric, figure.told, value=value, unit=unit)
        ages = GaugeMetricFamily(
            "steepwell_reading_age_seconds",
            "Age of the newest reading of each sensor.",
            labels=["sensor"],
            unit="seconds",
        )
        for sensor, age_s in _ages_s(desk, now).items():
            ages.add_metric([sensor], age_s)
        yield ages
        refused = desk.store.refused.count(now)
        yield CounterMetricFamily(
            "steepwell_refused_messages", "Messages that were not understood.", value=refused
        )


def _ages_s(desk: Desk, now: datetime) -> dict[str, float]:
    newest = desk.store.readings.newest_times()
    return {
        name: (now - from_ms(newest[number])).total_seconds()
        for name, number in desk.store.readings.ids.items()
        if number in newest
    }
