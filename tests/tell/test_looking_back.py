from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from steepwell.tell.looking_back import how_it_did


def outlook(first: date, now_l: float, low_l: float, high_l: float) -> dict[str, Any]:
    days = 21
    fan = {
        name: [low_l if name < "p50" else high_l] * days
        for name in ("p05", "p10", "p25", "p50", "p75", "p90", "p95")
    }
    return {
        "schema": 1,
        "issued": f"{first.isoformat()}T06:30:00+01:00",
        "garden": "plum-lane",
        "members": 500,
        "days": [(first + timedelta(days=day)).isoformat() for day in range(days)],
        "butts": [
            {
                "name": "north",
                "capacity_l": 630,
                "now_l": now_l,
                "volume_l": fan,
                "p_empty": [0.0] * days,
                "p_overflow": [0.0] * days,
            }
        ],
        "water": {
            "volume_l": fan,
            "p_dry": [0.0] * days,
            "dry_by": {"p10": None, "p50": None, "p90": None},
            "wanted_l": {"p50": [0.0] * days},
            "shortfall_l": {"p10": 0, "p50": 0, "p90": 0},
            "spilled_l": {"p50": 0},
        },
        "beds": [],
        "vessels": [],
    }


TODAY = date(2031, 6, 13)
BEFORE = TODAY - timedelta(days=7)


@pytest.mark.parametrize(
    ("now_l", "verdict"), [(410, "within"), (250, "outside"), (610, "outside")]
)
def test_last_week_is_compared_with_what_is_there(now_l: float, verdict: str) -> None:
    said = how_it_did(outlook(BEFORE, 400, 300, 520), outlook(TODAY, now_l, 0, 0))
    assert said is not None
    assert verdict in said
    for figure in ("300 to 520 L", f"{now_l} L"):
        assert figure in said


def test_water_below_the_taps_was_never_in_hand() -> None:
    said = how_it_did(outlook(BEFORE, 400, 300, 520), outlook(TODAY, 410, 0, 0), below_taps_l=20.0)
    assert said == (
        "A week ago 280 to 500 L were expected in hand by now; there are 390 L, within that."
    )


def test_nothing_is_said_without_a_week_between() -> None:
    now = outlook(TODAY, 410, 0, 0)
    assert how_it_did(None, now) is None
    assert how_it_did(outlook(BEFORE, 400, 300, 520), None) is None
    assert how_it_did(outlook(TODAY - timedelta(days=3), 400, 300, 520), now) is None
    assert how_it_did(outlook(TODAY - timedelta(days=60), 400, 300, 520), now) is None
