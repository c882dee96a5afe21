"""The rules about the water ahead, with what holds a notice once it stands."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from tests.gardens import make_garden, state_of

from steepwell.watch.water import (
    AHEAD_D,
    CLEARED_BELOW,
    NEAR_D,
    RAISED_AT,
    above_tap_l,
    running_dry,
    shortfall_ahead,
)

Json = dict[str, Any]

NOW = datetime(2031, 6, 1, 5, 30, tzinfo=UTC)
TODAY = date(2031, 6, 1)
GARDEN = make_garden()
# A can of 9 L is more than 2 % of 200 L.
LINE_L = 9.0
LITTLE = 0.001
IN_HAND_L = 203.0


def outlook(
    *p_dry: float,
    chance: float = 0.0,
    near: float | None = None,
    p10: str | None = "2031-06-20",
    p50: str | None = None,
) -> Json:
    """Return what the rules read of an outlook of 60 days."""
    chances = [*p_dry, *[0.0] * (60 - len(p_dry))]
    by = (NEAR_D + 1) * [chance if near is None else near] + (59 - NEAR_D) * [chance]
    return {
        "days": [(TODAY + timedelta(days=day)).isoformat() for day in range(60)],
        "water": {
            "p_dry": chances,
            "p_dry_by": by,
            "dry_by": {"p10": p10, "p50": p50, "p90": None},
        },
    }


def test_a_story_of_a_shortfall() -> None:
    # The chance that the butts run dry, day by day, and whether the notice stands then.
    story = [
        (0.0, False),
        (RAISED_AT - LITTLE, False),
        (RAISED_AT, True),
        (0.9, True),
        (RAISED_AT - LITTLE, True),
        (CLEARED_BELOW, True),
        (CLEARED_BELOW - LITTLE, False),
        (RAISED_AT - LITTLE, False),
        (CLEARED_BELOW, False),
        (0.9, True),
        (0.0, False),
    ]
    assert 0.0 < CLEARED_BELOW < RAISED_AT < 0.9
    stands = False
    for chance, expected in story:
        stands = shortfall_ahead(outlook(chance=chance), IN_HAND_L, stands=stands) is not None
        assert stands is expected, chance


@pytest.mark.parametrize(
    ("near", "stood", "stands"),
    [(RAISED_AT - LITTLE, False, False), (RAISED_AT, False, True), (0.0, True, True)],
)
def test_a_shortfall_that_is_far_off_waits_until_it_may_be_near(
    near: float, *, stood: bool, stands: bool
) -> None:
    told = shortfall_ahead(outlook(chance=0.9, near=near), IN_HAND_L, stands=stood)
    assert (told is not None) is stands


@pytest.mark.parametrize(("chance", "certainty"), [(0.5, "Possible"), (0.51, "Likely")])
def test_a_shortfall_is_as_certain_as_its_chance(chance: float, certainty: str) -> None:
    # CAP 1.2, 3.2.2: "Likely" is a chance above about a half, "Possible" one up to it.
    finding = shortfall_ahead(outlook(chance=chance), IN_HAND_L, stands=False)
    assert finding is not None
    assert (finding.certainty, finding.urgency) == (certainty, "Future")


def test_a_shortfall_is_about_the_day_a_dry_year_brings() -> None:
    finding = shortfall_ahead(outlook(chance=0.6, p50="2031-07-09"), IN_HAND_L, stands=False)
    assert finding is not None
    assert finding.on == date(2031, 6, 20)
    assert "20 June" in finding.headline
    # 203 L to two figures.
    assert "200 L" in finding.text
    assert "60%" in finding.text


def test_a_shortfall_without_a_day_is_at_the_end_of_what_is_looked_at() -> None:
    finding = shortfall_ahead(outlook(chance=CLEARED_BELOW, p10=None), IN_HAND_L, stands=True)
    assert finding is not None
    assert finding.on == TODAY + timedelta(days=AHEAD_D)


def test_while_the_butts_run_dry_the_date_of_a_shortfall_is_no_news() -> None:
    finding = shortfall_ahead(outlook(chance=0.9), IN_HAND_L, stands=True, runs_dry=True)
    assert finding is not None
    assert finding.on is None


def test_a_story_of_running_dry() -> None:
    # Litres above the taps, the chances of the next three days, and whether the notice stands.
    story = [
        (100.0, (0.0, 0.0, 0.0), False),
        (40.0, (0.1, 0.3, 0.49), False),
        # Half of the members dry within three days, this one and two more.
        (40.0, (0.1, 0.3, 0.50), True),
        (40.0, (0.0, 0.1, 0.25), True),
        (40.0, (0.0, 0.1, 0.24), False),
        # Less than a can: dry.
        (9.0, (0.0, 0.0, 0.0), False),
        (8.9, (0.0, 0.0, 0.0), True),
        # It takes three cans until that is over.
        (9.0, (0.0, 0.0, 0.0), True),
        (26.9, (0.0, 0.0, 0.0), True),
        (27.0, (0.0, 0.0, 0.0), False),
        # Dry on the fourth day is not soon.
        (40.0, (0.0, 0.0, 0.0, 1.0), False),
    ]
    stands = False
    for above_l, chances, expected in story:
        finding = running_dry(GARDEN, above_l, outlook(*chances), stands=stands)
        stands = finding is not None
        assert stands is expected, (above_l, chances)


@pytest.mark.parametrize(
    ("above_l", "stands", "headline", "urgency", "certainty"),
    [
        (5.0, False, "The butts are dry", "Immediate", "Observed"),
        (40.0, False, "The butts run dry", "Expected", "Likely"),
        (20.0, True, "The butts run dry", "Immediate", "Observed"),
    ],
)
def test_running_dry_is_urgent(
    above_l: float, headline: str, urgency: str, certainty: str, *, stands: bool
) -> None:
    finding = running_dry(GARDEN, above_l, outlook(1.0), stands=stands)
    assert finding is not None
    assert (finding.headline, finding.urgency, finding.certainty) == (headline, urgency, certainty)
    assert finding.severity == "Severe"
    assert finding.figures["above_tap_l"] == above_l
    assert f"There are {above_l:.0f} L above the taps" in finding.text
    # Three cans of 9 L; with more than that there, it is the outlook that has to change.
    assert ("when there are 27 L again" in finding.text) == (above_l < 27.0)
    assert ("gone within three days" in finding.text) == (above_l >= 27.0)


def test_dregs_are_not_to_be_kept_for_anything() -> None:
    finding = running_dry(GARDEN, 4.4, None, stands=False)
    assert finding is not None
    assert finding.text.startswith("Less than half a can is left above the taps. If local orders")


def test_where_there_is_no_tap_none_is_advised() -> None:
    finding = running_dry(make_garden(tap={"available": "no"}), 4.4, None, stands=False)
    assert finding is not None
    assert "tap water" not in finding.text


def test_without_an_outlook_only_what_is_so_counts() -> None:
    assert running_dry(GARDEN, LINE_L, None, stands=False) is None
    assert running_dry(GARDEN, LINE_L - 0.1, None, stands=False) is not None


def test_water_below_the_taps_does_not_count() -> None:
    butt = [
        {"name": "north", "litres": "200 L", "dead_volume": "15 L"},
        {"name": "south", "litres": "200 L", "dead_volume": "20 L"},
    ]
    garden = make_garden(butt=butt)
    assert above_tap_l(garden, state_of(garden, NOW, litres=[100.0, 12.0])) == 85.0
