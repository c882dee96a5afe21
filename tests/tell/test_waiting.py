"""How long a feed takes, in words."""

from __future__ import annotations

from datetime import date

import pytest

from steepwell.tell.waiting import how_long, the_wait


@pytest.mark.parametrize(
    ("began", "ready", "told"),
    [
        (date(2031, 7, 1), date(2031, 7, 15), ""),
        (date(2031, 6, 1), date(2031, 6, 18), ""),
        # Lloyd and Taylor (1994) at the temperatures of March: five weeks from the first.
        (date(2031, 3, 1), date(2031, 4, 5), "it takes five weeks, in a warm month two"),
        (date(2031, 10, 15), date(2032, 2, 25), "it takes 19 weeks"),
    ],
)
def test_a_long_wait_is_said_and_why(began: date, ready: date, told: str) -> None:
    assert told in how_long(began, ready)
    assert bool(told) == bool(how_long(began, ready))


def test_the_wait_as_a_range() -> None:
    days = (date(2031, 4, 2), date(2031, 4, 5), date(2031, 4, 9))
    told = the_wait(date(2031, 3, 1), days)
    assert told.startswith("ready about 5 April (2 to 9 April); while it is cool it takes five")
    assert "not ready in the weeks looked at" in the_wait(date(2031, 12, 1), None)
