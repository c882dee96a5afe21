from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from typing import TYPE_CHECKING

from steepwell.store.notices import Event, NoticeEvent
from steepwell.store.outbox import OutboxItem

if TYPE_CHECKING:
    from steepwell.store.store import Store

NOW = datetime(2031, 6, 1, 12, tzinfo=UTC)
HOUR = timedelta(hours=1)
SHORTFALL = NoticeEvent(
    id="shortfall-ahead/water",
    kind="shortfall-ahead",
    subject="water",
    event="raised",
    at=NOW,
    urgency="Future",
    severity="Moderate",
    certainty="Likely",
    headline="Water to about 22 July",
    text="310 L of 630 in hand.",
    figures={"in_hand_l": 310, "dry_by": ["2031-07-18", None]},
    reason="first time",
)


def told(event: Event, hours: float) -> NoticeEvent:
    return replace(SHORTFALL, event=event, at=NOW + hours * HOUR)


def test_the_ledger_remembers_the_last_period_of_each_job(store: Store) -> None:
    assert store.ledger.last("outlook") is None
    store.ledger.finish("outlook", NOW.astimezone(timezone(HOUR)))
    store.ledger.finish("letter", NOW)
    store.ledger.finish("outlook", NOW + HOUR)
    assert store.ledger.last("outlook") == NOW + HOUR
    assert store.ledger.last("letter") == NOW
    assert store.ledger.all() == {"outlook": NOW + HOUR, "letter": NOW}


def test_the_latest_result_is_that_issued_by_now(store: Store) -> None:
    store.results.save("outlook", NOW, {"days": ["2031-06-01"], "p90": None, "now_l": 143.2})
    store.results.save("outlook", NOW + 2 * HOUR, {"days": []})
    store.results.save("plan", NOW + HOUR, {"week": "süß"})
    found = store.results.latest("outlook", NOW + HOUR)
    assert found == {"days": ["2031-06-01"], "p90": None, "now_l": 143.2}
    assert store.results.latest("outlook", NOW + 2 * HOUR) == {"days": []}
    assert store.results.latest("plan", NOW + HOUR) == {"week": "süß"}
    assert store.results.latest("letter", NOW) is None
    assert store.results.latest("outlook", NOW - HOUR) is None


def test_results_of_a_time_come_in_the_order_of_their_issue(store: Store) -> None:
    for hours in (2, 0, 3, 1):
        store.results.save("outlook", NOW + hours * HOUR, {"hours": hours})
        store.results.save("plan", NOW + hours * HOUR, {})
    found = store.results.between("outlook", NOW + HOUR, NOW + 3 * HOUR)
    assert list(found) == [{"hours": 1}, {"hours": 2}]
    assert list(store.results.between("letter", NOW, NOW + 9 * HOUR)) == []


def test_a_result_worked_out_again_replaces_the_first(store: Store) -> None:
    store.results.save("plan", NOW, {"cans": 1})
    store.results.save("plan", NOW, {"cans": 2})
    assert store.results.latest("plan", NOW) == {"cans": 2}


def test_a_notice_stands_from_raised_to_cleared(store: Store) -> None:
    assert store.notices.standing() == []
    store.notices.record([told("raised", 0), replace(SHORTFALL, id="running-dry/water")])
    store.notices.record([told("reminded", 24)])
    dry, shortfall = store.notices.standing()
    assert dry.id == "running-dry/water"
    assert (shortfall.since, shortfall.last) == (NOW, told("reminded", 24))
    assert (shortfall.kind, shortfall.subject) == ("shortfall-ahead", "water")
    store.notices.record([told("cleared", 48)])
    assert [notice.id for notice in store.notices.standing()] == ["running-dry/water"]


def test_a_notice_raised_again_stands_since_then(store: Store) -> None:
    store.notices.record([told("raised", 0), told("cleared", 5), told("raised", 9)])
    assert [notice.since for notice in store.notices.standing()] == [NOW + 9 * HOUR]


def test_the_history_of_notices_ends_now(store: Store) -> None:
    store.notices.record([told("raised", 0), told("cleared", 5)])
    store.notices.record([])
    assert store.notices.history(NOW + HOUR) == [SHORTFALL]
    assert store.notices.history(NOW + 5 * HOUR) == [SHORTFALL, told("cleared", 5)]


def test_a_mail_is_kept_once(store: Store) -> None:
    store.outbox.put("letter/2031-22", "robin@example.org", b"Soak beans", NOW)
    store.outbox.put("letter/2031-22", "robin@example.org", b"Soak beans again", NOW + HOUR)
    assert store.outbox.due(NOW + HOUR) == [
        OutboxItem(1, "letter/2031-22", "robin@example.org", b"Soak beans", attempts=0)
    ]


def test_a_mail_delivered_is_not_put_again(store: Store) -> None:
    store.outbox.put("letter/2031-22", "robin@example.org", b"Soak beans", NOW)
    store.outbox.delivered(1, NOW)
    store.outbox.put("letter/2031-22", "robin@example.org", b"Soak beans", NOW + HOUR)
    assert store.outbox.due(NOW + HOUR) == []
    assert store.outbox.waiting(NOW + HOUR) == 0


def test_a_mail_waits_for_the_next_try(store: Store) -> None:
    store.outbox.put("digest/1", "robin@example.org", b"Dry soon", NOW)
    assert store.outbox.waiting(NOW) == 1
    assert len(store.outbox.due(NOW)) == 1
    store.outbox.failed(1, "no mail server", NOW + 3 * HOUR)
    assert store.outbox.due(NOW + 2 * HOUR) == []
    assert [item.attempts for item in store.outbox.due(NOW + 3 * HOUR)] == [1]
