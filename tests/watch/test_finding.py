"""How findings become notices: raised once, changed rarely, cleared once."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from tests.gardens import make_garden

from steepwell.store.store import garden_store_url, open_store
from steepwell.watch.finding import Finding, events_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from steepwell.store.notices import NoticeEvent, Severity, Urgency
    from steepwell.store.store import Store

START = datetime(2031, 6, 1, 6, 30, tzinfo=UTC)
DAY = timedelta(days=1)
WATER = frozenset({"shortfall-ahead"})
TOLD_ON = date(2031, 7, 10)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    garden = make_garden(tmp_path)
    with open_store(garden_store_url(garden), garden) as opened:
        yield opened


def found(
    on: date | None = None, *, kind: str = "shortfall-ahead", subject: str = "water"
) -> Finding:
    return Finding(
        kind=kind,
        subject=subject,
        urgency="Future",
        severity="Moderate",
        certainty="Possible",
        headline="Water may run out",
        text="Mulch.",
        figures={"p_dry": 0.3},
        on=on,
    )


def look(
    store: Store, at: datetime, *findings: Finding, kinds: frozenset[str] = WATER
) -> list[NoticeEvent]:
    """Compare what is found with what stands, and let it stand."""
    events = events_of(findings, store.notices.standing(), kinds, at)
    store.notices.record(events)
    return events


def told(events: Sequence[NoticeEvent]) -> list[tuple[str, str]]:
    return [(event.id, event.event) for event in events]


def test_a_story_of_one_notice(store: Store) -> None:
    # The date it is about, day by day, and what is told.
    story: list[tuple[date | None, str | None]] = [
        (None, None),
        (date(2031, 7, 10), "raised"),
        (date(2031, 7, 10), None),
        (date(2031, 7, 16), None),
        (date(2031, 7, 4), None),
        # A week from what was told last, either way.
        (date(2031, 7, 17), "eased"),
        (date(2031, 7, 11), None),
        (date(2031, 7, 10), "changed"),
        (None, "cleared"),
        (None, None),
        (date(2031, 8, 1), "raised"),
    ]
    for number, (on, expected) in enumerate(story):
        findings = [found(on)] if on else []
        events = look(store, START + number * DAY, *findings)
        assert [event.event for event in events] == ([expected] if expected else [])


def test_slow_changes_add_up_until_they_are_told(store: Store) -> None:
    look(store, START, found(TOLD_ON))
    events = [
        look(store, START + number * DAY, found(TOLD_ON + number * DAY)) for number in range(1, 15)
    ]
    assert [number for number, told in enumerate(events, start=1) if told] == [7, 14]


def test_a_finding_without_a_date_is_told_once(store: Store) -> None:
    assert told(look(store, START, found())) == [("shortfall-ahead/water", "raised")]
    assert look(store, START + DAY, found()) == []
    # A date that is not known any more, or was not before, is no move of a date.
    assert look(store, START + 2 * DAY, found(TOLD_ON)) == []


def test_an_event_carries_what_was_found(store: Store) -> None:
    (event,) = look(store, START, found(TOLD_ON))
    assert (event.id, event.kind, event.subject) == (
        "shortfall-ahead/water",
        "shortfall-ahead",
        "water",
    )
    assert (event.urgency, event.severity, event.certainty) == ("Future", "Moderate", "Possible")
    assert (event.at, event.headline, event.text) == (START, "Water may run out", "Mulch.")
    assert event.figures == {"p_dry": 0.3, "on": "2031-07-10"}
    assert event.reason


def test_what_is_over_is_told_as_past(store: Store) -> None:
    look(store, START, found(TOLD_ON))
    (event,) = look(store, START + DAY)
    # CAP 1.2, 3.2.2: urgency "Past" is for what calls for nothing any more.
    assert (event.event, event.urgency, event.certainty) == ("cleared", "Past", "Observed")
    assert event.headline == "Over: Water may run out"
    assert store.notices.standing() == []


def test_other_kinds_are_left_alone(store: Store) -> None:
    look(store, START, found(kind="sensor-silent", subject="gauge"), kinds=frozenset())
    look(store, START, found(TOLD_ON))
    assert told(look(store, START + DAY)) == [("shortfall-ahead/water", "cleared")]
    assert [notice.id for notice in store.notices.standing()] == ["sensor-silent/gauge"]
    silent = frozenset({"sensor-silent"})
    cleared = look(store, START + 2 * DAY, kinds=silent)
    assert told(cleared) == [("sensor-silent/gauge", "cleared")]


def test_subjects_of_one_kind_come_and_go_by_themselves(store: Store) -> None:
    kinds = frozenset({"vessel-ready"})
    leek = found(kind="vessel-ready", subject="leek")
    nettle = found(kind="vessel-ready", subject="nettle")
    both = look(store, START, nettle, leek, kinds=kinds)
    assert told(both) == [("vessel-ready/leek", "raised"), ("vessel-ready/nettle", "raised")]
    assert told(look(store, START + DAY, nettle, kinds=kinds)) == [("vessel-ready/leek", "cleared")]
    assert look(store, START + 2 * DAY, nettle, kinds=kinds) == []


def test_what_grows_graver_or_eases_is_told_by_its_words(store: Store) -> None:
    story: list[tuple[Urgency, Severity, str | None]] = [
        ("Future", "Moderate", "raised"),
        ("Future", "Moderate", None),
        # CAP 1.2, 3.2.2: "Immediate" is nearer than "Expected", and that than "Future".
        ("Expected", "Moderate", "worsened"),
        ("Immediate", "Severe", "worsened"),
        ("Expected", "Severe", "eased"),
        ("Immediate", "Minor", "eased"),
    ]
    for number, (urgency, severity, expected) in enumerate(story):
        graver = replace(found(), urgency=urgency, severity=severity)
        events = look(store, START + number * DAY, graver)
        assert [event.event for event in events] == ([expected] if expected else [])
    assert store.notices.standing()[0].last.severity == "Minor"
