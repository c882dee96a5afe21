"""The rule about leaks."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from tests.gardens import note
from tests.watch.faulty import HOUR, START, Hours, garden_of, told_of

from steepwell.store.store import garden_store_url, open_store
from steepwell.watch.evidence import Evidence
from steepwell.watch.finding import events_of
from steepwell.watch.kinds import LEAK
from steepwell.watch.leaks import Stretch, leaks, steady_fall

if TYPE_CHECKING:
    from pathlib import Path

    from steepwell.watch.finding import Finding


def found(folder: Path, hours: Hours) -> list[Finding]:
    told = told_of(folder, hours, leaks)
    assert isinstance(told, list)
    return told


def leaking(l_d: float, days: int = 6) -> Hours:
    hours = Hours(days, start_l=120.0)
    hours.change_l["north"] -= l_d / 24
    return hours


def test_a_fall_is_that_of_the_nights_whatever_was_between() -> None:
    hours = np.arange(8.0)
    nights = [Stretch(hours, start - 0.25 * hours) for start in (150.0, 90.0, 180.0)]
    # A quarter of a litre an hour is 6 L a day; a level without noise leaves no doubt.
    fall = steady_fall(nights)
    assert (fall.l_d, fall.least_l_d, fall.most_l_d) == pytest.approx((6.0, 6.0, 6.0))


def test_a_leak_is_told_with_its_litres(tmp_path: Path) -> None:
    (finding,) = found(tmp_path, leaking(6.0))
    assert (finding.kind, finding.subject) == ("leak", "north")
    assert finding.figures["least_l_d"] < 6.0 < finding.figures["most_l_d"]
    assert finding.figures["leak_l_d"] == pytest.approx(6.0, abs=0.7)
    assert "L a week" in finding.text


@pytest.mark.parametrize("l_d", [0.0, 0.5])
def test_a_butt_that_holds_is_not_told(tmp_path: Path, l_d: float) -> None:
    assert found(tmp_path, leaking(l_d)) == []


def test_watering_by_day_is_no_leak(tmp_path: Path) -> None:
    hours = Hours(8, start_l=190.0)
    hours.change_l["north"][19::24] -= 20.0
    assert found(tmp_path, hours) == []


def test_somebody_who_draws_by_night_is_no_leak(tmp_path: Path) -> None:
    hours = Hours(8, start_l=190.0)
    hours.change_l["north"][23::24] -= 8.0
    assert found(tmp_path, hours) == []


def test_rain_by_night_hides_no_leak(tmp_path: Path) -> None:
    hours = leaking(6.0, days=7)
    # Eight litres each come in the middle of the night.
    for day in (1, 3):
        hours.rain(day, 1.1, hour=22)
    (finding,) = found(tmp_path, hours)
    assert finding.figures["leak_l_d"] == pytest.approx(6.0, abs=1.0)


def test_a_day_is_too_short(tmp_path: Path) -> None:
    assert found(tmp_path, leaking(6.0, days=1)) == []


def test_a_little_drawn_every_day_is_no_leak(tmp_path: Path) -> None:
    hours = Hours(8, start_l=190.0)
    for hour in (9, 11, 14, 16):
        hours.change_l["north"][hour::24] -= 1.2
    assert found(tmp_path, hours) == []


def test_a_story_of_a_leak(tmp_path: Path) -> None:
    hours = Hours(24, start_l=150.0)
    hours.change_l["north"][24 * 4 : 24 * 12] -= 6.0 / 24
    garden = garden_of(tmp_path)
    told = []
    with open_store(garden_store_url(garden), garden) as store:
        hours.store(store)
        for day in range(1, 24):
            now = START + day * 24 * HOUR + 6.5 * HOUR
            standing = store.notices.standing()
            findings = leaks(Evidence(garden, store, [], now, standing))
            events = events_of(findings, standing, frozenset({LEAK}), now)
            store.notices.record(events)
            told += [(event.event, day) for event in events]
    (raised, begun), (cleared, ended) = told
    assert (raised, cleared) == ("raised", "cleared")
    # It began on day 4 and was mended on day 12.
    assert 5 <= begun <= 7
    assert 13 <= ended <= 16


def test_water_that_was_noted_says_nothing(tmp_path: Path) -> None:
    hours = Hours(6, start_l=180.0)
    hours.change_l["north"][2::4] -= 6.0
    garden = garden_of(tmp_path)
    with open_store(garden_store_url(garden), garden) as store:
        hours.store(store)
        noted = [
            note(store, garden, START + at * HOUR, "watered", bed="all", litres=6.0, butt="north")
            for at in range(3, 24 * 6, 4)
        ]
        assert leaks(Evidence(garden, store, noted, hours.now)) == []
