"""What the journal says of a time."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest

from steepwell.errors import JournalError
from steepwell.store.dated import away_on, check_dated, rests
from steepwell.store.entries import Away, PutToBed, Woken

NOVEMBER = datetime(2031, 11, 20, 9, 0, tzinfo=UTC)
DAY = timedelta(days=1)
AWAY = Away.model_validate({"at": NOVEMBER, "from": "2031-07-05", "to": "2031-07-19"})
TO_BED = PutToBed(at=NOVEMBER)
WOKEN = Woken(at=NOVEMBER + 100 * DAY)


@pytest.mark.parametrize(
    ("day", "found"),
    [("2031-07-04", None), ("2031-07-05", AWAY), ("2031-07-19", AWAY), ("2031-07-20", None)],
)
def test_both_days_of_an_absence_belong_to_it(day: str, found: Away | None) -> None:
    assert away_on([TO_BED, AWAY], date.fromisoformat(day)) == found


@pytest.mark.parametrize(("days", "asleep"), [(-1, False), (0, True), (99, True), (100, False)])
def test_it_rests_from_one_note_to_the_other(days: int, *, asleep: bool) -> None:
    assert rests([TO_BED, WOKEN], NOVEMBER + days * DAY) is asleep


def test_nobody_wakes_twice_or_goes_to_bed_twice() -> None:
    with pytest.raises(JournalError, match="rests already"):
        check_dated(PutToBed(at=NOVEMBER + DAY), [TO_BED])
    with pytest.raises(JournalError, match="awake already"):
        check_dated(Woken(at=NOVEMBER + 101 * DAY), [TO_BED, WOKEN])
    check_dated(PutToBed(at=NOVEMBER + 300 * DAY), [TO_BED, WOKEN])
