"""Power was out for seven weeks: what was missed is caught up with once."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

from tests.gardens import make_garden

from steepwell.app import Daemon
from steepwell.clock import ReplayClock
from steepwell.store.store import garden_store_url, open_store

if TYPE_CHECKING:
    from pathlib import Path

FRIDAY = datetime(2031, 5, 2, 16, 0, tzinfo=UTC)
BACK = datetime(2031, 6, 19, 12, 5, tzinfo=UTC)  # a Thursday
# The last Friday at 17:00 that was missed.
MISSED = datetime(2031, 6, 13, 17, 0, tzinfo=UTC)
PEOPLE = {"people": [{"name": "maud", "mail": "maud@example.org"}]}


def test_one_late_letter_comes_after_a_long_outage(tmp_path: Path) -> None:
    garden = make_garden(tmp_path, told=PEOPLE)
    clock = ReplayClock(FRIDAY)
    mails = tmp_path / "mails"
    before = Daemon(garden, clock, mail_folder=mails)
    before.start()
    before.run_due()
    before.stop()
    assert letters(mails) == 0

    clock.set(BACK)
    after = Daemon(garden, clock, mail_folder=mails, warm_worker=True)
    after.start()
    first = [done.job for done in after.run_due()]
    assert letters(mails) == 1
    assert first.count("letter") == first.count("outlook") == first.count("watch") == 1
    clock.set(BACK + timedelta(minutes=14))
    assert "letter" not in [done.job for done in after.run_due()]
    assert letters(mails) == 1
    # A clock that is behind what has been done does nothing at all.
    clock.set(FRIDAY - timedelta(days=1))
    assert after.run_due() == []
    after.stop()
    with open_store(garden_store_url(garden), garden, read_only=True) as store:
        assert store.ledger.last("letter") == MISSED


def letters(folder: Path) -> int:
    """Return how many letters have been handed over; notices are shorter."""
    return sum(b"multipart/" in mail.read_bytes() for mail in folder.glob("*.eml"))
