"""A gauge that was out of reach, and sends the rain of two days when it is heard again."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pytest

from steepwell.app import Daemon
from steepwell.cli import main
from steepwell.clock import ReplayClock, to_ms
from steepwell.garden.load import load_garden
from steepwell.sense.inbox import Heard
from steepwell.sense.moments import Moments
from steepwell.sense.readers import readers
from steepwell.sense.settle import Settler
from steepwell.store.store import garden_store_url, open_store

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from steepwell.garden.garden import Garden

GARDEN = """
[garden]
name = "plum-lane"
latitude = 50.8
longitude = 4.35
timezone = "Europe/Brussels"

[weather_record]
daily = "{record}"

[[roof]]
name = "shed"
area = "6 m2"
into = "north"

[[butt]]
name = "north"
litres = "210 L"

[[bed]]
name = "beans"
area = "4 m2"
crops = [{{ crop = "bean", planted = "05-15" }}]

[[sensor]]
name = "gauge"
measures = "rain"
topic = "plum/rain"
payload = "json"
pointer = "/tips"
time_pointer = "/at"
tip = "0.2 mm"
"""
MORNING = datetime(2025, 6, 18, 8, 0, tzinfo=UTC)


def tell(garden: Garden, counts: Sequence[tuple[datetime, int]], arrival: datetime) -> None:
    """Settle what the gauge says, as it is heard at one moment."""
    with open_store(garden_store_url(garden), garden) as store:
        known = readers(garden, store.readings.ids)
        moments = Moments({}, 0, replaying=True)
        settler = Settler(garden, store, known, moments, None)
        payloads = [f'{{"tips": {tips}, "at": "{at.isoformat()}"}}' for at, tips in counts]
        settler.settle(
            [
                Heard("plum/rain", payload.encode(), 0, False, False, 1, 1, to_ms(arrival))  # noqa: FBT003 - as it is made
                for payload in payloads
            ]
        )


def test_a_stored_day_of_rain_is_worked_out_the_same_morning(
    tmp_path: Path, brussels_csv: Path
) -> None:
    file = tmp_path / "garden.toml"
    file.write_text(GARDEN.format(record=brussels_csv), encoding="utf-8")
    garden = load_garden(file)
    # The gauge is heard, and then no more.
    two_days_ago = MORNING - timedelta(days=2)
    tell(garden, [(two_days_ago, 100)], two_days_ago)
    at = ["--at", two_days_ago.isoformat(), "--garden", str(file)]
    assert main(["note", "level-read", "north", "40 L", *at]) == 0
    clock = ReplayClock(MORNING)
    daemon = Daemon(garden, clock, warm_worker=True)
    daemon.start()
    try:
        (before,) = [done for done in daemon.run_due() if done.job == "outlook"]
        stored = [(two_days_ago + timedelta(hours=hour), 100 + 5 * hour) for hour in range(1, 21)]
        tell(garden, stored, MORNING + timedelta(minutes=30))
        clock.set(MORNING + timedelta(minutes=31))
        assert "outlook" not in [done.job for done in daemon.run_due()]
        clock.set(MORNING + timedelta(minutes=36))
        (after,) = [done for done in daemon.run_due() if done.job == "outlook"]
        clock.set(MORNING + timedelta(minutes=40))
        assert "outlook" not in [done.job for done in daemon.run_due()]
    finally:
        daemon.stop()
    assert before.outlook is not None
    assert after.outlook is not None
    gained_l = after.outlook["butts"][0]["now_l"] - before.outlook["butts"][0]["now_l"]
    # 20 mm on 6 m², of which 85 % run off: 102 L, and less for what wets the roof.
    assert gained_l == pytest.approx(102.0, abs=30.0)
