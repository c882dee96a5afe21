from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import pytest
from tests.sense.conftest import GARDEN

from steepwell.errors import MessageRefusedError
from steepwell.garden.load import garden_from
from steepwell.sense.convert import converter

if TYPE_CHECKING:
    from steepwell.sense.convert import Converter

Json = dict[str, Any]

# The butt "north" is a cylinder 0.5 m wide and 1 m high.
LITRES_A_METRE = 1000 * math.pi / 4 * 0.5**2

TEMPERATURE: Json = {"measures": "temperature", "of": "air", "payload": "number"}
LEVEL: Json = {"measures": "level", "of": "north", "payload": "number"}
DISTANCE: Json = {**LEVEL, "reads": "distance from lid", "lid": "110 cm"}
TIPS: Json = {"measures": "rain", "payload": "number", "tip": "0.2 mm"}
MM: Json = {"measures": "rain", "payload": "number", "counts": "mm since start"}
NUMBER: Json = {"payload": "number"}
TIP: Json = {"tip": "0.2 mm"}
SENML: Json = {"payload": "senml", "record": "a"}


def made(sensor: Json) -> Converter:
    garden = garden_from({**GARDEN, "sensor": [{"name": "it", "topic": "t", **sensor}]})
    return converter(garden.sensor[0], garden)


@pytest.mark.parametrize(
    ("sensor", "value", "unit", "expected"),
    [
        (TEMPERATURE, 14.5, None, 14.5),
        (TEMPERATURE, 14.5, "Cel", 14.5),
        ({**TEMPERATURE, "unit": "degF"}, 14.0, None, -10.0),
        ({**TEMPERATURE, "unit": "degF"}, 14.0, "Cel", 14.0),
        (TEMPERATURE, 50.0, "degF", 10.0),
        (TEMPERATURE, 283.15, "K", 10.0),
        ({**TEMPERATURE, **SENML}, 283.15, "K", 10.0),
        (TIPS, 41.0, None, 8.2),
        (TIPS, 41.0, "count", 8.2),
        (MM, 8.2, None, 8.2),
        (MM, 0.0082, "m", 8.2),
        ({**LEVEL, "reads": "litres"}, 120.0, None, 120.0),
        ({**LEVEL, "reads": "litres"}, 0.12, "m3", 120.0),
        ({**LEVEL, **SENML, "reads": "litres"}, 120.0, "l", 120.0),
        ({**LEVEL, "of": "south", "reads": "percent"}, 40.0, None, 80.0),
        # RFC 8428, section 12.1: "%" is a ratio like "/"; RFC 8798: "/100" is a percentage.
        ({**LEVEL, **SENML, "of": "south", "reads": "percent"}, 0.4, "%", 80.0),
        ({**LEVEL, **SENML, "of": "south", "reads": "percent"}, 0.4, "/", 80.0),
        ({**LEVEL, **SENML, "of": "south", "reads": "percent"}, 40.0, "/100", 80.0),
        ({**LEVEL, "reads": "depth"}, 0.3, None, 0.3 * LITRES_A_METRE),
        ({**LEVEL, "reads": "depth", "unit": "mm"}, 300.0, None, 0.3 * LITRES_A_METRE),
        # One metre of water is 9806.65 Pa, by the definition of the metre of water.
        ({**LEVEL, "reads": "pressure"}, 2941.995, None, 0.3 * LITRES_A_METRE),
        ({**LEVEL, **SENML, "reads": "pressure"}, 29.41995, "hPa", 0.3 * LITRES_A_METRE),
        ({**LEVEL, "reads": "pressure", "unit": "kPa"}, 2.941995, None, 0.3 * LITRES_A_METRE),
        ({"measures": "pressure", "payload": "number"}, 1013.25, None, 101_325.0),
        ({"measures": "rain", "counts": "tips since last message", **NUMBER, **TIP}, 3, None, 0.6),
        ({"measures": "rain", "counts": "mm since last message", **NUMBER}, 0.6, None, 0.6),
        (DISTANCE, 0.8, None, 0.3 * LITRES_A_METRE),
        ({**DISTANCE, "unit": "cm"}, 80.0, None, 0.3 * LITRES_A_METRE),
        ({**DISTANCE, **SENML}, 800.0, "mm", 0.3 * LITRES_A_METRE),
    ],
)
def test_a_value_is_brought_to_base_units(
    sensor: Json, value: float, unit: str | None, expected: float
) -> None:
    converted, *flagged = made(sensor)(value, unit)
    assert converted == pytest.approx(expected)
    assert flagged == [1, None]


def test_a_probe_that_is_too_near_tells_a_bound() -> None:
    near = made({**DISTANCE, "blind": "25 cm"})
    litres, *flagged = near(0.24, None)
    assert litres == pytest.approx(0.85 * LITRES_A_METRE)
    assert flagged == [1, None]
    assert near(0.01, None) == near(0.24, None)
    # No echo; common practice, no source.
    assert near(0.0, None) == (litres, 3, "0 is what a probe says that hears no echo")
    assert near(0.25, None)[1:] == (1, None)


def test_a_probe_whose_blind_distance_ends_above_the_water_tells_that_it_is_full() -> None:
    litres, *flagged = made({**DISTANCE, "lid": "150 cm", "blind": "30 cm"})(0.2, None)
    assert litres == pytest.approx(LITRES_A_METRE)
    assert flagged == [1, None]


@pytest.mark.parametrize(
    ("sensor", "value", "litres"),
    [
        ({**LEVEL, "reads": "depth"}, 1.04, LITRES_A_METRE),
        ({**LEVEL, "reads": "depth"}, -0.04, 0.0),
        ({**LEVEL, "of": "south", "reads": "litres"}, 209.0, 200.0),
        ({**LEVEL, "of": "south", "reads": "percent"}, -4.0, 0.0),
        (DISTANCE, 1.14, 0.0),
    ],
)
def test_a_level_a_little_outside_is_brought_inside(
    sensor: Json, value: float, litres: float
) -> None:
    converted, *flagged = made(sensor)(value, None)
    assert converted == pytest.approx(litres)
    assert flagged == [1, None]


@pytest.mark.parametrize(
    ("sensor", "value", "reason"),
    [
        (TEMPERATURE, 84.0, "84 °C is outside -40 to 80 °C"),
        # What one-wire thermometers say at power-on and disconnected: common practice, no source.
        (TEMPERATURE, 85.0, "85 °C is what a one-wire probe says that has just got its power"),
        (TEMPERATURE, -127.0, "-127 °C is said for a one-wire probe that does not answer"),
        ({**LEVEL, "reads": "depth"}, 1.06, "106% of full is no level of 'north'"),
        ({**LEVEL, "reads": "litres"}, -20.0, "-10% of full is no level of 'north'"),
        (DISTANCE, 4.0, "-290% of full is no level of 'north'"),
        ({"measures": "pressure", "payload": "number"}, 10.0, "10 hPa is no pressure of air"),
        (MM, 2e6, "2000000 mm of rain is more than a gauge can count"),
    ],
)
def test_what_is_out_of_range_is_kept_as_failed(sensor: Json, value: float, reason: str) -> None:
    assert made(sensor)(value, None)[1:] == (4, reason)


@pytest.mark.parametrize(
    ("sensor", "value", "unit", "message"),
    [
        (TEMPERATURE, 14.0, "V", "the unit is 'V'; 'it' is read in Cel, K, degF"),
        ({**LEVEL, "reads": "depth"}, 14.0, "L", "the unit is 'L'; 'it' is read in m, cm, mm"),
        ({**LEVEL, "reads": "litres"}, 14.0, "mm", "the unit is 'mm'; 'it' is read in L, m3"),
        ({**LEVEL, "reads": "percent"}, 14.0, "/100", "the unit is '/100'; 'it' is read in %"),
        (TIPS, 3.0, "mm", "the unit is 'mm'; 'it' is read in count"),
        (TIPS, -1.0, None, "tips since start are -1, and cannot be below nothing"),
        (TIPS, 3.5, None, "3.5 is no whole number of tips"),
        (MM, -0.2, None, "mm since start are -0.2, and cannot be below nothing"),
    ],
)
def test_what_cannot_be_is_refused(
    sensor: Json, value: float, unit: str | None, message: str
) -> None:
    with pytest.raises(MessageRefusedError, match=message):
        made(sensor)(value, unit)
