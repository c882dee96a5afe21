from __future__ import annotations

import pytest

from steepwell.model.probes import (
    depth_from_pressure_m,
    echo_distance_m,
    rain_without_undercatch_mm_h,
    speed_of_sound_m_s,
)


# Speed of sound in dry air at one atmosphere as tables print it, to 0.2 m/s: 331.3 at 0 °C and
# "331.3 + 0.606 t" near it (the linear formula of textbooks; liquisearch.com, "Practical Formula
# For Dry Air"): 337.4, 343.4, 349.5. The linear formula runs ahead of the root by 0.3 at 30 °C;
# tables by temperature give 349.0 there (from memory).
@pytest.mark.parametrize(
    ("temperature_c", "speed_m_s", "tolerance"),
    [(0.0, 331.3, 0.1), (10.0, 337.36, 0.1), (20.0, 343.42, 0.25), (30.0, 349.0, 0.2)],
)
def test_speed_of_sound(temperature_c: float, speed_m_s: float, tolerance: float) -> None:
    assert speed_of_sound_m_s(temperature_c) == pytest.approx(speed_m_s, abs=tolerance)


# The same page, on feet: "at zero degrees Celsius 1085.1 feet per second, at 20 degrees 1124.1"
# (J. O. Smith, Physical Audio Signal Processing, "Speed of Sound in Air"); here as their ratio.
def test_a_probe_that_reckons_with_20_degrees_reads_too_far_in_the_cold() -> None:
    assert echo_distance_m(1.0, 20.0, 0.0) == pytest.approx(1085.1 / 1124.1, abs=2e-4)
    assert echo_distance_m(0.8, 20.0, 20.0) == pytest.approx(0.8)


# One metre of water is 9806.65 Pa by the definition of the conventional metre of water.
def test_water_presses_by_its_depth() -> None:
    assert depth_from_pressure_m(9806.65) == pytest.approx(1.0)
    assert depth_from_pressure_m(101_325.0 + 4903.325, 101_325.0) == pytest.approx(0.5)


# Duchon, Fiebrich and Grimsley (2014), abstract: of 19.9 mm/h 0.98 % were lost, of 175.2 mm/h
# 8.78 %. Their gauge tips at 0.01 in (0.254 mm; from memory).
@pytest.mark.parametrize(
    ("rain_mm_h", "lost", "tolerance"), [(19.9, 0.0098, 2e-4), (175.2, 0.0878, 1e-2)]
)
def test_undercatch_of_heavy_rain(rain_mm_h: float, lost: float, tolerance: float) -> None:
    measured = rain_mm_h * (1 - lost)
    assert rain_without_undercatch_mm_h(measured, 0.254) == pytest.approx(rain_mm_h, rel=tolerance)


def test_a_bucket_that_would_do_nothing_but_tip_cannot_be() -> None:
    with pytest.raises(ValueError, match="no bucket of"):
        rain_without_undercatch_mm_h(1600.0, 0.2)
