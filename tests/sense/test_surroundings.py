"""Probes that the air has a part in, from the message to the store."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest
from tests.sense.conftest import GARDEN

from steepwell.clock import to_ms
from steepwell.garden.load import garden_from
from steepwell.sense.inbox import Heard
from steepwell.sense.moments import Moments
from steepwell.sense.readers import readers
from steepwell.sense.settle import Settler
from steepwell.sense.surroundings import surroundings
from steepwell.store.devices import NO_NUMBERS, Device
from steepwell.store.store import garden_store_url, open_store

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from steepwell.store.readings import Reading
    from steepwell.store.store import Store


NOON = datetime(2031, 6, 1, 12, tzinfo=UTC)
HOUR_S = 3600
LITRES_A_METRE = 1000 * math.pi / 4 * 0.5**2

POD = {"topic": "pod", "payload": "json", "time_pointer": "/at"}
SENSORS: list[dict[str, Any]] = [
    {
        **POD,
        "name": "level",
        "measures": "level",
        "of": "north",
        "reads": "distance from lid",
        "lid": "110 cm",
        "blind": "20 cm",
        "sound_at": "20 degC",
        "pointer": "/distance",
        "battery_pointer": "/battery",
    },
    {**POD, "name": "shade", "measures": "temperature", "of": "air", "pointer": "/air"},
    {
        "name": "deep",
        "measures": "level",
        "of": "south",
        "reads": "pressure",
        "absolute": True,
        "topic": "deep",
        "payload": "number",
    },
    {"name": "weight", "measures": "pressure", "topic": "weight", "payload": "number"},
]


class Intake:
    def __init__(self, store: Store, settler: Settler) -> None:
        self.store = store
        self._settler = settler

    def hear(self, topic: str, payload: str, *, later_s: float = 0, retained: bool = False) -> None:
        arrival_ms = to_ms(NOON + timedelta(seconds=later_s))
        message = Heard(topic, payload.encode(), 0, False, retained, 1, 1, arrival_ms)  # noqa: FBT003 - as it is made
        self._settler.settle([message])

    def last(self, sensor: str) -> Reading:
        return self.store.readings.latest(NOON + timedelta(days=1))[sensor]


@pytest.fixture
def intake(tmp_path: Path) -> Iterator[Intake]:
    shapes = [{**butt, "shape": GARDEN["butt"][0]["shape"]} for butt in GARDEN["butt"]]
    butts = [{key: value for key, value in butt.items() if key != "litres"} for butt in shapes]
    garden = garden_from(
        {**GARDEN, "butt": butts, "sensor": SENSORS}, path=tmp_path / "garden.toml"
    )
    with open_store(garden_store_url(garden), garden) as store:
        around = surroundings(garden, store)
        known = readers(garden, store.readings.ids, around)
        moments = Moments({}, 0, replaying=False)
        yield Intake(store, Settler(garden, store, known, moments, None, around=around))


def pod(distance_m: float, air_c: float | None, seconds: float = 0) -> str:
    at = (NOON + timedelta(seconds=seconds)).isoformat()
    air = "" if air_c is None else f', "air": {air_c}'
    return f'{{"distance": {distance_m}, "at": "{at}", "battery": 2.9{air}}}'


# Speed of sound 331.3 m/s at 0 °C and 343.4 m/s at 20 °C (331.3 + 0.606 t, the linear formula of
# textbooks): a probe that takes the air to be of 20 °C reads 3.5 % too far when it freezes.
def test_an_echo_is_put_right_by_the_air_of_the_same_message(intake: Intake) -> None:
    intake.hear("pod", pod(0.6, 0.0))
    depth_m = 1.1 - 0.6 * 331.3 / 343.4
    assert intake.last("level").value == pytest.approx(depth_m * LITRES_A_METRE, rel=1e-3)
    assert intake.last("level").flag == 2


def test_an_echo_without_a_temperature_is_taken_as_it_is(intake: Intake) -> None:
    intake.hear("pod", pod(0.6, None))
    assert intake.last("level").value == pytest.approx(0.5 * LITRES_A_METRE)
    # Air of four hours ago says nothing.
    intake.hear("pod", '{"air": 0.0, "at": "2031-06-01T12:00:01Z"}')
    intake.hear("pod", pod(0.6, None, 4 * HOUR_S), later_s=4 * HOUR_S)
    assert intake.last("level").value == pytest.approx(0.5 * LITRES_A_METRE)


def test_a_stored_day_is_put_right_by_the_air_of_its_time(intake: Intake) -> None:
    intake.hear("pod", '{"air": 20.0, "at": "2031-06-01T06:00:00Z"}')
    intake.hear("pod", '{"air": 0.0, "at": "2031-06-01T12:00:00Z"}')
    intake.hear("pod", pod(0.6, None, -5 * HOUR_S))
    assert intake.last("level").value == pytest.approx(0.5 * LITRES_A_METRE)


def test_the_pressure_of_the_air_is_taken_off(intake: Intake) -> None:
    intake.hear("deep", "106228")
    assert intake.last("deep").flag == 4
    assert "the air is not known" in (intake.last("deep").reason or "")
    intake.hear("weight", "1013.25 hPa", later_s=1)
    # Half a metre of water is 4903 Pa, by the definition of the metre of water.
    intake.hear("deep", "106228", later_s=2)
    assert intake.last("deep").value == pytest.approx(0.5 * LITRES_A_METRE, rel=1e-3)
    intake.hear("weight", "983.25 hPa", later_s=3)
    intake.hear("deep", "103228", later_s=4)
    assert intake.last("deep").value == pytest.approx(0.5 * LITRES_A_METRE, rel=1e-3)


def test_what_a_device_says_of_itself_is_kept(intake: Intake) -> None:
    intake.hear("pod", pod(0.6, None))
    assert intake.store.devices.all() == {"level": Device(to_ms(NOON), 2.9, None, 2.9)}
    assert intake.store.devices.tally(NO_NUMBERS) == 0


def test_what_the_broker_kept_says_nothing_of_the_air_now(intake: Intake) -> None:
    intake.hear("weight", "1013.25 hPa", retained=True)
    intake.hear("deep", "106228", later_s=1)
    assert "the air is not known" in (intake.last("deep").reason or "")
