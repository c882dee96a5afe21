from __future__ import annotations

import contextlib
import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from steepwell.garden.quantity import (
    AREA,
    LENGTH,
    RATIO,
    SPEED,
    TEMPERATURE,
    VOLUME,
    WATER_DEPTH,
    Kind,
    _registry,
    magnitude,
)

# Imperial gallon: Weights and Measures Act 1985, Schedule 1 (from memory).
# US gallon: 231 cubic inches. Inch: 25.4 mm, so a square foot is 0.09290304 m² and a square yard
# 0.83612736 m². Teaspoon and tablespoon: 5 and 15 mL (from memory).
KNOWN = [
    ("210 L", VOLUME, 210.0),
    ("210 litres", VOLUME, 210.0),
    ("210l", VOLUME, 210.0),
    ("1 m3", VOLUME, 1000.0),
    ("1 dm³", VOLUME, 1.0),
    ("250 mL", VOLUME, 0.25),
    ("1 imperial_gallon", VOLUME, 4.54609),
    ("46 imperial_gallons", VOLUME, 46 * 4.54609),
    ("1 us_gallon", VOLUME, 3.785411784),
    ("1 US_gallon", VOLUME, 3.785411784),
    ("1 teaspoon", VOLUME, 0.005),
    ("1 tsp", VOLUME, 0.005),
    ("2 tablespoons", VOLUME, 0.030),
    ("1 tbsp", VOLUME, 0.015),
    ("3 m/s", SPEED, 3.0),
    ("18 km/h", SPEED, 5.0),
    ("10 mph", SPEED, 4.4704),
    ("58 cm", LENGTH, 0.58),
    ("900 mm", LENGTH, 0.9),
    ("1 in", LENGTH, 0.0254),
    ("3 ft", LENGTH, 0.9144),
    ("-4 m", LENGTH, -4.0),
    ("12 m2", AREA, 12.0),
    ("12 m^2", AREA, 12.0),
    ("12 m**2", AREA, 12.0),
    ("12 m²", AREA, 12.0),
    ("1 ft2", AREA, 0.09290304),
    ("1 yd2", AREA, 0.83612736),
    ("0.2 mm", WATER_DEPTH, 0.2),
    ("1 in", WATER_DEPTH, 25.4),
    ("14 degC", TEMPERATURE, 14.0),
    ("14 degF", TEMPERATURE, -10.0),
    ("14 °F", TEMPERATURE, -10.0),
    ("273.15 K", TEMPERATURE, 0.0),
    (0.9, RATIO, 0.9),
    (1, RATIO, 1.0),
    ("90 %", RATIO, 0.9),
    (".5%", RATIO, 0.005),
]


@pytest.mark.parametrize(("text", "kind", "expected"), KNOWN)
def test_a_quantity_comes_in_the_unit_used_inside(
    text: object, kind: Kind, expected: float
) -> None:
    assert magnitude(text, kind) == pytest.approx(expected, rel=1e-12, abs=1e-12)


def test_feet_inches_and_gallons_are_read_without_the_library() -> None:
    asked = """
import sys
from steepwell.garden.quantity import AREA, LENGTH, VOLUME, WATER_DEPTH, magnitude
for text, kind in (("23 ft", LENGTH), ("5 in", LENGTH), ("269 ft2", AREA), ("0.01 in", WATER_DEPTH),
                   ("46 imperial_gallons", VOLUME), ("55 US_gallons", VOLUME)):
    magnitude(text, kind)
print("pint" in sys.modules)
"""
    answer = subprocess.run([sys.executable, "-c", asked], check=True, capture_output=True)
    assert answer.stdout.strip() == b"False"


def test_taking_spoons_as_kitchens_do_is_no_news(caplog: pytest.LogCaptureFixture) -> None:
    _registry.cache_clear()
    magnitude("1 teaspoon", VOLUME)
    assert caplog.records == []


@pytest.mark.parametrize(
    ("text", "kind", "message"),
    [
        ("46 gallons", VOLUME, "a gallon may be two things"),
        ("46 GAL", VOLUME, "a gallon may be two things"),
        ("46 imperial gallons", VOLUME, "a gallon may be two things"),
        ("3 pt", VOLUME, "'pt' is not the same everywhere"),
        ("3 fl_oz", VOLUME, "'fl_oz' is not the same everywhere"),
        ("210 kg", VOLUME, "'kg' is not the unit of a volume"),
        ("12 m", AREA, "'m' is not the unit of an area"),
        ("14 degF", LENGTH, "'degF' is not the unit of a length"),
        ("3 blub", LENGTH, "unknown unit 'blub'"),
        ("3 m*", LENGTH, "unknown unit 'm\\*'"),
        ("3 m/0", LENGTH, "unknown unit 'm/0'"),
        ("3 (", LENGTH, "unknown unit '\\('"),
        ("1.2.3 m", LENGTH, "a length is a number and a unit"),
        ("210", VOLUME, "a volume is a number and a unit"),
        ("L", VOLUME, "a volume is a number and a unit"),
        ("", VOLUME, "a volume is a number and a unit"),
        (210, VOLUME, "a volume needs its unit"),
        (None, VOLUME, "a volume needs its unit"),
        ("1,5 m", LENGTH, "a decimal has a point, not a comma"),
        ("1.2.3 %", RATIO, "a share is a number or a percentage"),
        ("0.9", RATIO, "a share is a number or a percentage"),
        (True, RATIO, "a share is a number or a percentage"),
    ],
)
def test_what_is_no_such_quantity_is_refused(text: object, kind: Kind, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        magnitude(text, kind)


@given(st.text(max_size=12), st.sampled_from([LENGTH, AREA, VOLUME, TEMPERATURE, RATIO]))
def test_whatever_stands_behind_a_number_is_read_or_refused(unit: str, kind: Kind) -> None:
    with contextlib.suppress(ValueError):
        assert isinstance(magnitude(f"3 {unit}", kind), float)


@given(st.floats(min_value=1e-6, max_value=1e6))
def test_litres_pass_through_unchanged(litres: float) -> None:
    assert magnitude(f"{litres!r} L", VOLUME) == pytest.approx(litres, rel=1e-12)
