from __future__ import annotations

import math

import pytest

from steepwell.garden.garden import AIR, Garden
from steepwell.garden.load import load_garden
from steepwell.garden.sensors import LevelSensor
from steepwell.garden.tables import config_dir

# Litres in all butts, square metres of roof, square metres of beds.
SIZES = {
    "small": (420.0, 25.0, 20.0),
    "middle": (1000.0, 25.0, 25.0),
    "large": (2000.0, 40.0, 25.0),
    "roomy": (1050.0, 40.0, 12.0),
}


@pytest.fixture(params=SIZES)
def garden(request: pytest.FixtureRequest) -> Garden:
    return load_garden(config_dir() / "gardens" / f"{request.param}.toml")


def test_a_test_garden_has_its_size(garden: Garden) -> None:
    litres, roof_m2, beds_m2 = SIZES[garden.name]
    assert garden.capacity_l == pytest.approx(litres, abs=1.0)
    assert math.fsum(roof.area * roof.share for roof in garden.roof) == pytest.approx(roof_m2)
    assert math.fsum(bed.area for bed in garden.bed) == pytest.approx(beds_m2)


def test_the_roomy_garden_has_three_butts_alike() -> None:
    roomy = load_garden(config_dir() / "gardens" / "roomy.toml")
    assert [butt.capacity_l for butt in roomy.butt] == pytest.approx([350.0] * 3, abs=0.5)


def test_a_test_garden_grows_six_different_crops_or_more(garden: Garden) -> None:
    crops = {growing.crop for bed in garden.bed for growing in bed.crops}
    assert len(garden.bed) >= 6
    assert all(bed.crops for bed in garden.bed)
    assert len(crops) >= 6


def test_a_test_garden_wants_water_from_april_to_september(garden: Garden) -> None:
    stays = [
        (growing.planted[:2], (growing.cleared or "12")[:2])
        for bed in garden.bed
        for growing in bed.crops
    ]
    for month in ("04", "05", "06", "07", "08", "09"):
        assert any(planted <= month <= cleared for planted, cleared in stays)


def test_a_test_garden_measures_everything_with_its_time(garden: Garden) -> None:
    assert len(garden.vessel) >= 2
    assert garden.rain_sensor is not None
    assert garden.rain_sensor.payload == "senml"
    levels = [garden.level_sensor(butt.name) for butt in garden.butt]
    assert all(isinstance(level, LevelSensor) for level in levels)
    assert {level.reads for level in levels if level} == {"distance from lid"}
    for place in (AIR, *(vessel.name for vessel in garden.vessel)):
        assert garden.temperature_sensor(place) is not None
    assert {sensor.payload for sensor in garden.sensor} == {"senml", "json"}
    assert all(sensor.time_pointer for sensor in garden.sensor if sensor.payload == "json")


def test_a_test_garden_speaks_to_this_machine_and_to_nobody_real(garden: Garden) -> None:
    assert garden.broker is not None
    assert garden.broker.host == "127.0.0.1"
    assert garden.told.mail is not None
    assert garden.told.mail.server == "127.0.0.1"
    assert [person.mail.partition("@")[2] for person in garden.told.people] == ["example.org"]


def test_butts_of_a_test_garden_spill_into_one_another(garden: Garden) -> None:
    assert any(butt.overflow_to for butt in garden.butt)
    assert all(bed.butt for bed in garden.bed)


def test_the_annotated_garden_loads() -> None:
    garden = load_garden(config_dir() / "garden.toml")
    assert garden.name == "quince-yard"
    assert garden.butt[0].overflow_to == garden.butt[1].name
    assert garden.bed[0].mulch is not None
    assert garden.bed[0].mulch.cover == pytest.approx(0.8)
    # A probe for both vessels.
    assert garden.temperature_sensor("nettle") is garden.temperature_sensor("leek")
