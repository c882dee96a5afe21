"""Past outlooks judged, by cases that can be worked out by hand."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import numpy as np
import pytest
from tests.gardens import make_garden

from steepwell.outlook.evenings import Evenings
from steepwell.outlook.quantiles import QUANTILES
from steepwell.outlook.usual import Usual
from steepwell.outlook.verdict import is_held, judged, said_by

Json = dict[str, Any]
FIRST = date(2031, 6, 1)
GARDEN = make_garden(butt=[{"name": "north", "litres": "200 L", "dead_volume": "20 L"}])


def outlook(
    day: date = FIRST,
    *,
    now_l: float = 200.0,
    low_l: float = 100.0,
    high_l: float = 100.0,
    chances: tuple[float, ...] = (0.2,) * 60,
    days: int = 60,
) -> Json:
    """Return an outlook of the same range on all days."""
    fan = {name: [low_l if name < "p50" else high_l] * days for name in QUANTILES}
    return {
        "days": [(day + timedelta(days=each)).isoformat() for each in range(days)],
        "butts": [{"name": "north", "now_l": now_l}],
        "water": {"volume_l": fan, "p_dry_by": list(chances)},
    }


def verdict(outlooks: list[Json], read: Evenings, usual: Usual | None) -> Json:
    return judged(GARDEN, [said_by(GARDEN, each) for each in outlooks], read, usual)


def evenings(*stored_l: float, days: int = 60) -> Evenings:
    """Return evenings from the first on, the last level going on."""
    levels = np.array([*stored_l, *[stored_l[-1]] * (days - len(stored_l))])
    return Evenings(FIRST, levels, np.maximum(levels - 20.0, 0.0))


def test_after_seven_days_is_the_evening_of_the_seventh() -> None:
    said = said_by(GARDEN, outlook())
    levels = [500.0] * 60
    levels[6] = 100.0
    assert is_held(GARDEN, said, evenings(*levels), 0) is True
    assert is_held(GARDEN, said, evenings(*levels), 1) is False


@pytest.mark.parametrize(
    ("stored_l", "held"),
    # The range is 80 to 120 L, and a reading may be off by 2 % of 200 L.
    [(100.0, True), (76.0, True), (75.9, False), (124.0, True), (124.1, False), (np.nan, None)],
)
def test_a_range_is_held_to_what_can_be_read(stored_l: float, *, held: bool | None) -> None:
    said = said_by(GARDEN, outlook(low_l=80.0, high_l=120.0))
    assert is_held(GARDEN, said, evenings(stored_l), 0) is held


def test_an_outlook_that_is_off_by_thirty_litres() -> None:
    """All quantiles at 100 L and 130 L read: the score is the error, 30 L.

    Today's 200 L are off by 70 L, so that the skill is 1 - 30/70; a usual of 145 L is off by 15 L,
    and the skill 1 - 30/15.
    """
    usual = Usual(date(2010, 3, 1), np.full((245, 3), 145.0), np.zeros((245, 3), dtype=bool))
    week = verdict([outlook()], evenings(130.0), usual)["stored"][0]
    assert week == {
        "after_d": 7,
        "outlooks": 1,
        "held": 0,
        "crps_l": pytest.approx(30.0),
        "over_level": pytest.approx(1.0 - 30.0 / 70.0, abs=5e-4),
        "over_usual": pytest.approx(-1.0),
    }


def test_what_was_not_read_or_not_said_is_not_judged() -> None:
    outlooks = [outlook(days=20), outlook(FIRST + timedelta(days=1))]
    found = verdict(outlooks, evenings(100.0, days=14), None)
    assert [each["outlooks"] for each in found["stored"]] == [2, 1, 0, 0]
    assert found["stored"][2]["crps_l"] is None
    assert {each["over_usual"] for each in found["stored"]} == {None}
    assert (found["outlooks"], found["from"], found["to"]) == (2, "2031-06-01", "2031-06-02")


def test_chances_of_a_dry_day_by_hand() -> None:
    """Two outlooks told 0.2 for a fortnight; one dry evening came, in the second's alone.

    The score is (0.04 + 0.64)/2 = 0.34; a garden not dry today, carried on, scores 0.5, so that the
    skill is 1 - 0.34/0.5 = 0.32. With half of all years dry by then the usual scores 0.25, and the
    skill is 1 - 0.34/0.25.
    """
    levels = [100.0] * 60
    levels[14] = 28.9  # less than a can of 9 L above the tap, on the fifteenth day
    usual = Usual(date(2010, 3, 1), np.full((245, 2), 9.0), np.tile([False, True], (245, 1)))
    outlooks = [outlook(), outlook(FIRST + timedelta(days=1))]
    fortnight = verdict(outlooks, evenings(*levels), usual)["dry"][0]
    assert fortnight["outlooks"] == 2
    assert fortnight["came"] == 1
    assert fortnight["brier"] == pytest.approx(0.34)
    assert fortnight["reliability"] == pytest.approx(0.09)
    assert fortnight["resolution"] == 0.0
    assert fortnight["uncertainty"] == 0.25
    assert fortnight["over_level"] == pytest.approx(0.32)
    assert fortnight["over_usual"] == pytest.approx(-0.36)


@pytest.mark.parametrize(("unread", "counts"), [(2, 1), (3, 0)])
def test_no_dry_evening_is_known_where_most_were_read(unread: int, counts: int) -> None:
    levels = [100.0] * 14
    levels[3 : 3 + unread] = [np.nan] * unread
    found = verdict([outlook()], evenings(*levels), None)["dry"][0]
    assert found["outlooks"] == counts


def test_a_dry_evening_is_known_though_others_were_not_read() -> None:
    levels = [np.nan] * 60
    levels[3] = 21.0
    found = verdict([outlook()], evenings(*levels), None)["dry"]
    assert [(each["outlooks"], each["came"]) for each in found] == [(1, 1), (1, 1)]


@pytest.mark.parametrize(("stored_l", "came"), [(100.0, 0), (21.0, 1)])
def test_a_span_that_is_not_over_is_not_judged(stored_l: float, came: int) -> None:
    outlooks = [outlook(), outlook(FIRST + timedelta(days=1))]
    found = verdict(outlooks, evenings(stored_l, days=14), None)["dry"]
    assert (found[0]["outlooks"], found[0]["came"]) == (1, came)
    assert found[1]["outlooks"] == 0


def test_an_outlook_of_an_earlier_version_tells_no_chances() -> None:
    found = verdict([outlook(chances=())], evenings(100.0), None)["dry"][0]
    assert found == {"within_d": 14, "outlooks": 0, "came": None, "brier": None}
