"""The rule about frost tonight, by forecast and by dusk."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from tests.gardens import AIR, make_garden, put_readings, vessel_probe

from steepwell.store.store import garden_store_url, open_store
from steepwell.watch.finding import events_of
from steepwell.watch.frost import Evening, evening, frost_tonight

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from steepwell.garden.garden import Garden
    from steepwell.store.store import Store

FORECAST = {"topic": "f", "date": "/d", "rain": "/r", "tmin": "/l", "tmax": "/h"}
KINDS = frozenset({"frost-tonight"})
# The sun sets about a quarter past four in the afternoon.
DUSK = datetime(2031, 11, 14, 16, 30, tzinfo=UTC)
DAY = timedelta(days=1)
NOTHING = Evening(at_dusk=True, lowest_c=None, lowest_ahead_c=None, air_c=None, water_c={})


@pytest.fixture
def garden(tmp_path: Path) -> Garden:
    return make_garden(
        tmp_path,
        vessel=[{"name": "leek", "volume": "60 L"}],
        sensor=[AIR, vessel_probe("leek")],
        forecast=FORECAST,
    )


@pytest.fixture
def store(garden: Garden) -> Iterator[Store]:
    with open_store(garden_store_url(garden), garden) as opened:
        yield opened


def look(
    garden: Garden, store: Store, at: datetime, tonight: Evening, *, rests: bool = False
) -> list[str]:
    standing = store.notices.standing()
    events = events_of(frost_tonight(garden, tonight, standing, rests=rests), standing, KINDS, at)
    store.notices.record(events)
    return [f"{event.subject} {event.event}" for event in events]


def test_a_frosty_week_by_the_air_at_dusk_is_told_once(garden: Garden, store: Store) -> None:
    noon = replace(NOTHING, at_dusk=False)
    story = [
        (replace(NOTHING, air_c=2.5), []),
        (replace(NOTHING, air_c=2.0), ["taps raised"]),
        (replace(noon, air_c=9.0), []),
        (replace(NOTHING, air_c=5.9), []),
        (replace(NOTHING, air_c=-4.0), []),
        # A probe that is not heard tells of no thaw.
        (NOTHING, []),
        (replace(NOTHING, air_c=6.0), ["taps cleared"]),
        (replace(NOTHING, air_c=2.5), []),
    ]
    for number, (tonight, told) in enumerate(story):
        assert look(garden, store, DUSK + number * DAY, tonight) == told


def test_with_a_forecast_it_is_over_when_all_nights_ahead_are_mild(
    garden: Garden, store: Store
) -> None:
    def forecast(lowest_c: float, ahead_c: float) -> Evening:
        # The air at dusk does not count beside a forecast.
        return replace(NOTHING, lowest_c=lowest_c, lowest_ahead_c=ahead_c, air_c=1.0)

    story = [
        (forecast(0.5, 0.5), []),
        (forecast(0.0, -1.0), ["taps raised"]),
        (forecast(4.0, 2.9), []),
        (forecast(4.0, 3.0), ["taps cleared"]),
    ]
    for number, (tonight, told) in enumerate(story):
        assert look(garden, store, DUSK + number * DAY, tonight) == told


@pytest.mark.parametrize(("rests", "subject"), [(False, "taps"), (True, "leek")])
def test_a_vessel_near_freezing_is_told_with_the_taps_or_alone_where_they_are_open(
    garden: Garden, store: Store, *, rests: bool, subject: str
) -> None:
    story = [
        (2.1, []),
        (2.0, [f"{subject} raised"]),
        (1.0, []),
        (5.0, []),
        (6.1, [f"{subject} cleared"]),
    ]
    for number, (water_c, told) in enumerate(story):
        tonight = replace(NOTHING, air_c=8.0, water_c={"leek": water_c})
        assert look(garden, store, DUSK + number * DAY, tonight, rests=rests) == told


def test_taps_of_a_garden_at_rest_are_open(garden: Garden, store: Store) -> None:
    frosty = replace(NOTHING, air_c=-3.0)
    assert look(garden, store, DUSK, frosty, rests=True) == []
    (finding,) = frost_tonight(garden, frosty, [], rests=False)
    assert (finding.urgency, finding.severity, finding.certainty) == (
        "Expected",
        "Moderate",
        "Possible",
    )
    assert "-3 °C in the shade" in finding.text


def test_what_is_known_of_an_evening(garden: Garden, store: Store) -> None:
    put_readings(store, "shade", {DUSK - timedelta(minutes=20): 1.5})
    put_readings(store, "leek-temperature", {DUSK - timedelta(hours=2): 4.0})
    known = evening(garden, store, DUSK)
    # A reading of two hours ago is not one of now.
    assert known == Evening(at_dusk=True, lowest_c=None, lowest_ahead_c=None, air_c=1.5, water_c={})
    assert not evening(garden, store, DUSK - timedelta(hours=3)).at_dusk
    assert not evening(garden, store, DUSK + timedelta(hours=5)).at_dusk


def test_one_reading_alone_is_no_frost_where_another_is_near(garden: Garden, store: Store) -> None:
    begun = DUSK - timedelta(minutes=90)
    put_readings(store, "shade", {begun: 9.0, DUSK - timedelta(minutes=30): -20.0})
    assert evening(garden, store, DUSK).air_c == pytest.approx(9.0)


def test_tonight_is_the_lowest_of_tomorrow_once_it_is_noon(garden: Garden, store: Store) -> None:
    days = [
        {"day": date(2031, 11, day).isoformat(), "rain_mm": 0.0, "tmin_c": low, "tmax_c": 8.0}
        for day, low in ((14, -5.0), (15, 1.0), (16, -2.0))
    ]
    store.results.save("forecast", DUSK - DAY / 2, {"issued": "2031-11-14", "days": days})
    known = evening(garden, store, DUSK)
    assert (known.lowest_c, known.lowest_ahead_c) == (1.0, -2.0)
    assert evening(garden, store, DUSK.replace(hour=11)).lowest_c is None
