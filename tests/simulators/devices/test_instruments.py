from __future__ import annotations

from datetime import date
from statistics import mean
from typing import TYPE_CHECKING, Any

import pytest
from pydantic import TypeAdapter

from steepwell.garden.sensors import Sensor
from steepwell_sim.devices.instruments import TEMPERATURE_GRAIN_C, Instrument
from steepwell_sim.world.parameters import draw_parameters
from steepwell_sim.world.world import World

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden

SENSOR: TypeAdapter[Sensor] = TypeAdapter(Sensor)


@pytest.fixture
def world(garden: Garden) -> World:
    return World(
        garden,
        draw_parameters(garden, 1),
        air_c=15.0,
        first_year=2031,
        last_year=date(2031, 1, 1).year,
    )


def instrument(world: World, **declared: object) -> Instrument:
    spoken = {"name": "probe", "topic": "plot/probe", "payload": "number"}
    return Instrument(SENSOR.validate_python({**spoken, **declared}), world, seed=1)


@pytest.mark.parametrize(
    ("declared", "value", "unit"),
    [
        ({"tip": "0.2 mm"}, 12, "count"),  # 2.5 mm: twelve tips, and half of the next
        ({"tip": "0.254 mm"}, 9, "count"),
        ({"counts": "mm since start"}, 2.4, "mm"),
        ({"counts": "mm since start", "unit": "m"}, 0.0024, "m"),
    ],
)
def test_a_gauge_counts_whole_tips_since_it_started(
    world: World, declared: dict[str, Any], value: float, unit: str
) -> None:
    world.gauge_mm = 100.1
    gauge = instrument(world, measures="rain", **declared)
    assert gauge.measure().value == 0
    world.gauge_mm += 2.5
    figure = gauge.measure()
    assert figure.value == pytest.approx(value)
    assert figure.unit == unit


@pytest.mark.parametrize(
    ("declared", "told"),
    [
        ({"counts": "tips since last message", "tip": "0.2 mm"}, [12, 0, 6]),
        ({"counts": "mm since last message"}, [2.4, 0.0, 1.2]),
    ],
)
def test_a_gauge_tells_what_fell_since_it_spoke(
    world: World, declared: dict[str, Any], told: list[float]
) -> None:
    gauge = instrument(world, measures="rain", **declared)
    values = []
    for fell_mm in (2.5, 0.0, 1.2):
        world.gauge_mm += fell_mm
        values.append(gauge.measure().value)
    assert values == pytest.approx(told)


def test_a_barometer_reads_the_air(world: World) -> None:
    # The standard atmosphere at sea level, 1013.25 hPa.
    assert instrument(world, measures="pressure").measure().value == pytest.approx(1013.25)


@pytest.mark.parametrize(
    ("declared", "value", "unit", "noise"),
    [
        # The frustum holds 79.8 L at 45 cm, of 177.3 L in all.
        ({"reads": "distance from lid", "lid": "100 cm"}, 0.55, "m", 0.004),
        ({"reads": "distance from lid", "lid": "100 cm", "unit": "mm"}, 550, "mm", 4),
        ({"reads": "depth", "unit": "cm"}, 45, "cm", 0.4),
        ({"reads": "percent"}, 45.0, "%", 0.6),
        # Water of 20 °C weighs 998.2 kg/m³ (from memory): 0.45 m press with 4.41 kPa.
        ({"reads": "pressure", "unit": "kPa"}, 4.405, "kPa", 0.04),
        ({"reads": "pressure", "absolute": True, "unit": "hPa"}, 1057.3, "hPa", 0.4),
        # In air of 15 °C sound is slower by 0.88 % than at 20 °C, and the water seems farther.
        (
            {"reads": "distance from lid", "lid": "100 cm", "sound_at": "20 degC"},
            0.5548,
            "m",
            0.004,
        ),
        ({"reads": "litres"}, 79.8, "L", 0.9),
        ({"reads": "litres", "unit": "m3"}, 0.0798, "m3", 0.0009),
    ],
)
def test_a_probe_reads_the_water(
    world: World, declared: dict[str, Any], value: float, unit: str, noise: float
) -> None:
    butt = world.rainwater.butts["north"]
    butt.water_l = 79.8161 * butt.capacity_l / 177.3036
    probe = instrument(world, measures="level", of="north", **declared)
    figures = [probe.measure() for _ in range(50)]
    assert {figure.unit for figure in figures} == {unit}
    assert mean(figure.value for figure in figures) == pytest.approx(value, abs=noise / 4)
    assert all(abs(figure.value - value) < 2 * noise for figure in figures)
    assert len({figure.value for figure in figures}) > 3


def test_a_probe_reads_whole_millimetres(world: World) -> None:
    probe = instrument(world, measures="level", of="north", reads="depth", unit="mm")
    values = [probe.measure().value for _ in range(20)]
    assert values == pytest.approx([round(value) for value in values])


def test_nearer_than_it_can_tell_a_probe_says_just_that(world: World) -> None:
    full = instrument(
        world,
        measures="level",
        of="north",
        reads="distance from lid",
        lid="100 cm",
        blind="20 cm",
    )
    assert full.measure().value == pytest.approx(0.199)


@pytest.mark.parametrize(
    ("unit", "value", "grain"),
    [
        ("Cel", 12.0, TEMPERATURE_GRAIN_C),
        ("K", 285.15, TEMPERATURE_GRAIN_C),
        ("degF", 53.6, TEMPERATURE_GRAIN_C * 9 / 5),
    ],
)
def test_a_thermometer_hangs_in_the_first_of_its_vessels(
    world: World, unit: str, value: float, grain: float
) -> None:
    world.vessels["barrel"].temperature_c = 12.0
    probe = instrument(world, measures="temperature", of=["barrel", "leeks"], unit=unit)
    values = [probe.measure().value for _ in range(50)]
    assert mean(values) == pytest.approx(value, abs=grain)
    steps = [(reading - value) / grain for reading in values]
    assert steps == pytest.approx([round(step) for step in steps], abs=1e-6)


def test_equal_seeds_give_equal_noise(world: World) -> None:
    def readings() -> list[float]:
        air = instrument(world, measures="temperature", of="air")
        return [air.measure().value for _ in range(10)]

    assert readings() == readings()
    assert len(set(readings())) > 1
