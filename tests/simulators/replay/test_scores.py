from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest

from steepwell_sim.replay.scores import Scores
from steepwell_sim.start import world_on
from steepwell_sim.world.steep import Steep

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden
    from steepwell_sim.weather.record import Day
    from steepwell_sim.world.world import World

LAST = date(2031, 8, 31)


@pytest.fixture
def world(garden: Garden, dry_year: dict[date, Day]) -> World:
    return world_on(garden, dry_year, date(2031, 6, 1), last=LAST, seed=1)


def told(kind: str, day: date, subject: str = "water", event: str = "raised") -> dict[str, Any]:
    at = datetime(day.year, day.month, day.day, 6, tzinfo=UTC)
    return {
        "id": f"{kind}/{subject}",
        "kind": kind,
        "subject": subject,
        "event": event,
        "at": at.isoformat(),
    }


@pytest.mark.parametrize(
    ("kind", "day", "event", "came_true"),
    [
        ("shortfall-ahead", date(2031, 6, 1), "raised", True),  # dry within sixty days
        ("shortfall-ahead", date(2031, 5, 20), "changed", False),  # 61 days before
        ("shortfall-ahead", date(2031, 8, 1), "raised", None),  # nobody knows how it went on
        ("shortfall-ahead", date(2031, 6, 1), "cleared", None),
        ("running-dry", date(2031, 7, 18), "raised", True),
        ("running-dry", date(2031, 6, 1), "raised", False),
        ("sensor-silent", date(2031, 6, 1), "raised", False),  # these devices never are
        ("worker-failed", date(2031, 6, 1), "raised", None),
    ],
)
def test_whether_a_notice_came_true(
    world: World,
    kind: str,
    day: date,
    event: str,
    came_true: bool | None,  # noqa: FBT001 - expected
) -> None:
    scores = Scores(dry_days=[date(2031, 7, 20)], notices=[told(kind, day, event=event)])
    (judged,) = scores.summary(world, LAST)["notices"]
    assert judged["came_true"] is came_true
    assert judged["date"] == day.isoformat()


def test_how_late_ready_was_told(world: World) -> None:
    ready_at = datetime(2031, 6, 15, 18, tzinfo=UTC)
    vessel = world.vessels["leeks"]
    vessel.past.append(Steep(ready_at - timedelta(days=20), 0.0, ready_at=ready_at))
    vessel.steep = Steep(ready_at + timedelta(days=30), 90.0)
    scores = Scores(
        notices=[
            told("vessel-ready", date(2031, 6, 16), "leeks"),
            told("vessel-ready", date(2031, 8, 1), "leeks"),
            told("vessel-ready", date(2031, 6, 16), "barrel"),
        ]
    )
    first, second, third = scores.summary(world, LAST)["notices"]
    assert (first["came_true"], first["error_d"]) == (True, 0.5)
    assert (second["came_true"], second["error_d"]) == (False, None)
    assert (third["came_true"], third["error_d"]) == (False, None)


def test_days_and_litres_are_added_up(world: World) -> None:
    scores = Scores()
    world.today.given_l, world.today.wanted_l = 20.0, 25.0
    scores.end_day(date(2031, 6, 1), world)
    world.rainwater.draw(10_000.0)
    scores.end_day(date(2031, 6, 2), world)
    summary = scores.summary(world, LAST)
    assert summary["first_dry_day"] == "2031-06-02"
    assert summary["days_dry"] == 1
    assert (summary["wanted_l"], summary["given_l"]) == (50, 40)
    assert set(summary["beds"]) == set(world.beds)
