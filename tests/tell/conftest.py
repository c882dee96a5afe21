"""A small invented garden, its outlook and its plan, for everything that is told."""

from __future__ import annotations

import copy
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest

from steepwell.garden.load import garden_from
from steepwell.tell.letter import LetterFacts, compose_letter

if TYPE_CHECKING:
    from email.message import EmailMessage
    from pathlib import Path

    from steepwell.garden.garden import Garden
    from steepwell.garden.site import Person

Json = dict[str, Any]
Change = Callable[..., Json]

# Friday 6 June 2031, 17:00 in the garden.
NOW = datetime(2031, 6, 6, 16, 0, tzinfo=UTC)
FIRST_DAY = date(2031, 6, 6)
HORIZON_D = 120

GARDEN: Json = {
    "garden": {
        "name": "orchard-end",
        "latitude": 51.5,
        "longitude": -0.9,
        "timezone": "Europe/London",
    },
    "weather_record": {"daily": "weather.csv"},
    "roof": [{"name": "shed", "area": "12 m^2", "into": "north", "runoff": 1.0}],
    "butt": [{"name": name, "litres": "210 L"} for name in ("north", "south", "west")],
    "vessel": [{"name": name, "volume": "20 L"} for name in ("leek", "comfrey")],
    "bed": [
        {"name": "beans", "area": "6 m^2"},
        {"name": "leeks", "area": "3 m^2"},
        {"name": "onions", "area": "3 m^2"},
        {"name": "under-glass", "area": "2 m^2", "kind": "greenhouse"},
        {"name": "seedlings", "area": "1 m^2", "kind": "tray"},
    ],
    "sensor": [
        {
            "name": "gauge",
            "topic": "garden/rain",
            "payload": "number",
            "measures": "rain",
            "tip": "0.2 mm",
        }
    ],
    "told": {
        "mail": {"server": "127.0.0.1", "sender": "garden@mail.example.org"},
        "people": [{"name": "robin", "mail": "robin@example.org"}],
    },
}

WATER: Json = {
    "bed": "beans",
    "daily_l": None,
    "cans": 5,
    "litres": 45,
    "days": ["2031-06-08", "2031-06-11"],
    "from": "north",
    "skip_after_mm": 10,
    "stop": False,
    "reason": "in flower, when dryness costs pods",
}
FEED: Json = {
    "bed": "leeks",
    "vessel": "leek",
    "cans": 1,
    "feed_ml": 30,
    "spoons": "2 tablespoons",
    "measure": "spoons",
    "dilution_parts": 300,
    "day": "2031-06-07",
    "reason": "due, and the leek vessel is its own crop",
    "heed": "",
    "only_due": False,
}
PLAN: Json = {
    "schema": 1,
    "issued": "2031-06-06T06:30:00+01:00",
    "week": ["2031-06-06", "2031-06-12"],
    "in_hand_l": 310,
    "lasts_to": {"p10": "2031-07-18", "p50": "2031-07-22", "p90": "2031-08-08"},
    "water": [
        WATER,
        {
            **WATER,
            "bed": "onions",
            "cans": 0,
            "litres": 0,
            "days": [],
            "from": None,
            "stop": True,
            "reason": "ripening, and they keep better dry",
        },
    ],
    "feed": [FEED],
    "unfed": [{"bed": "beans", "reason": "bean is never fed", "due": False}],
    "vessels": [
        {
            "name": "comfrey",
            "do": "fill",
            "rainwater_l": 14,
            "matter": "2 buckets of comfrey leaves",
            "by": "2031-06-12",
            "reason": "the first cut is due now",
        }
    ],
    "mulch": [
        {
            "bed": "beans",
            "depth_mm": 20,
            "boxes": 1,
            "saves_l": 12,
            "reason": "the rows are open and the soil is moist",
        }
    ],
    "tap_l": 0,
}


def _changed(document: Json, changes: Json) -> Json:
    unknown = set(changes) - set(document)
    assert not unknown, f"no such keys: {unknown}"
    return copy.deepcopy({**document, **changes})


@pytest.fixture
def now() -> datetime:
    return NOW


@pytest.fixture
def garden_raw() -> Json:
    return copy.deepcopy(GARDEN)


@pytest.fixture
def garden(garden_raw: Json, tmp_path: Path) -> Garden:
    return garden_from(garden_raw, path=tmp_path / "garden.toml")


@pytest.fixture
def person(garden: Garden) -> Person:
    return garden.told.people[0]


@pytest.fixture
def plan() -> Change:
    return lambda **changes: _changed(PLAN, changes)


@pytest.fixture
def letter(garden: Garden, person: Person, plan: Change, now: datetime) -> EmailMessage:
    return compose_letter(LetterFacts(garden=garden, person=person, now=now, plan=plan()))


@pytest.fixture
def water() -> Change:
    return lambda **changes: _changed(WATER, changes)


@pytest.fixture
def feed() -> Change:
    return lambda **changes: _changed(FEED, changes)


@pytest.fixture
def outlook() -> Json:
    days = [(FIRST_DAY + timedelta(days=day)).isoformat() for day in range(HORIZON_D)]
    share_left = {
        "p05": 0.2,
        "p10": 0.3,
        "p25": 0.4,
        "p50": 0.5,
        "p75": 0.7,
        "p90": 0.8,
        "p95": 0.9,
    }
    fan = {
        name: [round(310 - (310 - 630 * share) * day / HORIZON_D, 1) for day in range(HORIZON_D)]
        for name, share in share_left.items()
    }
    third = {name: [litres / 3 for litres in row] for name, row in fan.items()}
    shares = [0.25] * HORIZON_D
    return {
        "schema": 1,
        "issued": "2031-06-06T06:30:00+01:00",
        "garden": "orchard-end",
        "members": 500,
        "days": days,
        "butts": [
            {
                "name": name,
                "capacity_l": 210,
                "now_l": now_l,
                "volume_l": third,
                "p_empty": shares,
                "p_overflow": shares,
            }
            for name, now_l in (("north", 143.2), ("south", 96.8), ("west", 70.0))
        ],
        "water": {
            "volume_l": fan,
            "p_dry": shares,
            "dry_by": {"p10": "2031-07-18", "p50": "2031-07-22", "p90": "2031-08-08"},
            "wanted_l": {"p50": [14.0] * HORIZON_D},
            "shortfall_l": {"p10": 0, "p50": 310, "p90": 820},
            "spilled_l": {"p50": 0},
        },
        "beds": [
            {
                "name": "beans",
                "depletion_mm": 21.0,
                "readily_available_mm": 27.0,
                "p_stress": shares,
            }
        ],
        "vessels": [
            {
                "name": "leek",
                "temperature_c": 15.2,
                "thermal_age_d": 330.5,
                "dilution_parts": 300,
                "ready": {
                    "p10": "2031-06-06",
                    "p50": "2031-06-06",
                    "p90": "2031-06-06",
                    "in_d": {"p10": 0.0, "p50": 0.0, "p90": 0.0},
                },
                "dilution_on": {"2031-07-01": {"p10": 310, "p50": 320, "p90": 330}},
            },
            {
                "name": "comfrey",
                "temperature_c": 16.0,
                "thermal_age_d": 9.1,
                "dilution_parts": None,
                "ready": {
                    "p10": "2031-06-10",
                    "p50": "2031-06-11",
                    "p90": "2031-06-13",
                    "in_d": {"p10": 4.2, "p50": 5.1, "p90": 6.8},
                },
                "dilution_on": {"2031-07-01": {"p10": 61, "p50": 66, "p90": 70}},
            },
        ],
    }
