"""What other programs are told of the daemon, read by the parser of another project."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from prometheus_client.openmetrics.parser import text_string_to_metric_families
from tests.gardens import put_readings
from tests.page.conftest import NOW

if TYPE_CHECKING:
    from starlette.testclient import TestClient

    from steepwell.store.store import Store


def figures(page: TestClient) -> dict[str, float]:
    answer = page.get("/metrics")
    assert answer.headers["Content-Type"] == (
        "application/openmetrics-text; version=1.0.0; charset=utf-8"
    )
    return {
        sample.name: sample.value
        for family in text_string_to_metric_families(answer.text)
        for sample in family.samples
    }


@pytest.mark.parametrize(("hours", "status"), [(3, "pass"), (31, "warn")])
def test_the_age_of_the_outlook_decides_whether_all_is_well(
    page: TestClient, store: Store, hours: int, status: str
) -> None:
    store.ledger.finish("outlook", NOW - timedelta(hours=hours))
    answer = page.get("/healthz")
    # The keys and media type of draft-inadarei-api-health-check-06, sections 3 and 4.
    assert answer.headers["Content-Type"] == "application/health+json"
    assert (answer.status_code, answer.json()["status"]) == (200, status)
    assert answer.json()["checks"]["outlook:age"] == [
        {"observedValue": 3600 * hours, "observedUnit": "s", "status": status}
    ]


def test_before_the_first_outlook_not_all_is_well_yet(page: TestClient) -> None:
    assert page.get("/healthz").json()["status"] == "warn"


def test_figures_are_told_of_what_is_known(page: TestClient, store: Store) -> None:
    assert "steepwell_outlook_age_seconds" not in figures(page)
    put_readings(store, "gauge", {NOW - timedelta(minutes=5): 4.0})
    store.ledger.finish("outlook", NOW - timedelta(hours=2))
    store.outbox.put("a", "robin@example.org", b"", NOW)
    told = figures(page)
    assert told["steepwell_reading_age_seconds"] == 300
    assert told["steepwell_last_commit_age_seconds"] == 300
    assert told["steepwell_outlook_age_seconds"] == 7200
    assert told["steepwell_outbox_waiting_messages"] == 1
    assert told["steepwell_refused_messages_total"] == 0
    assert "steepwell_mirror_lag_seconds" not in told
