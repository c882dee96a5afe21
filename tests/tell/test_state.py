from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from steepwell.tell.documents import DayRange
from steepwell.tell.state import lasts, state

Json = dict[str, Any]
TODAY = date(2031, 6, 6)
END = date(2031, 10, 3)


def test_the_state_is_litres_and_a_range_of_days(outlook: Json) -> None:
    assert state(outlook) == (
        "in hand 310 of 630 L; at your present rate it lasts to about 22 July (18 July to 8 August)"
    )


def test_water_below_the_taps_is_not_in_hand(outlook: Json) -> None:
    assert state(outlook, below_taps_l=30.0).startswith("in hand 280 of 600 L; ")


@pytest.mark.parametrize(
    ("p10", "p50", "p90", "told"),
    [
        (
            "2031-07-18",
            "2031-07-22",
            "2031-08-08",
            "it lasts to about 22 July (18 July to 8 August)",
        ),
        ("2031-07-02", "2031-07-09", "2031-07-20", "it lasts to about 9 July (2 to 20 July)"),
        ("2031-07-09", "2031-07-09", "2031-07-09", "it lasts to about 9 July"),
        (
            "2031-07-18",
            "2031-07-22",
            None,
            "it lasts to about 22 July (from 18 July to beyond 3 October)",
        ),
        (
            "2031-07-18",
            None,
            None,
            "it lasts beyond 3 October, in a dry year to about 18 July",
        ),
        ("2031-06-06", "2031-06-06", "2031-06-09", "it is used up today"),
        (None, None, None, "it lasts beyond 3 October"),
    ],
)
def test_what_lies_beyond_the_horizon_gets_no_date(
    p10: str | None, p50: str | None, p90: str | None, told: str
) -> None:
    dry_by = DayRange.model_validate({"p10": p10, "p50": p50, "p90": p90})
    assert lasts(dry_by, TODAY, END) == told


def test_an_unknown_horizon_is_not_named() -> None:
    never = DayRange(p10=None, p50=None, p90=None)
    assert lasts(never, TODAY, None) == "it lasts beyond the weeks looked at"
