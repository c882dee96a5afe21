"""Tanks: volumes from the exact formulas, worked out apart from the program.

A butt is held to the prismoidal formula, which is exact for a frustum; a drum to the circular
segment; a barrel to the integral over parabolic staves.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from steepwell.model.catchment import after_first_flush, runoff_l
from steepwell.model.geometry import ConeFrustum
from steepwell.model.geometry_curved import Barrel, HorizontalCylinder

BUTT = ConeFrustum(bottom_diameter_m=0.45, top_diameter_m=0.55, height_m=0.90)
DRUM = HorizontalCylinder(diameter_m=0.58, length_m=0.88)
BARREL = Barrel(end_diameter_m=0.46, middle_diameter_m=0.56, height_m=0.88)


@pytest.mark.parametrize(
    ("depth_m", "volume_l"),
    # V = pi h/3 (R1^2 + R1 R2 + R2^2), worked out apart.
    [
        (0.10, 16.3002),
        (0.225, 37.8096),
        (0.30, 51.3345),
        (0.45, 79.8161),
        (0.60, 110.2612),
        (0.675, 126.2405),
        (0.80, 154.0221),
        (0.90, 177.3036),
    ],
)
def test_a_butt_that_widens(depth_m: float, volume_l: float) -> None:
    assert BUTT.volume_l(depth_m) == pytest.approx(volume_l, abs=5e-5)
    assert BUTT.depth_m(volume_l) == pytest.approx(depth_m, abs=1e-6)


def test_the_prismoidal_formula() -> None:
    areas = [math.pi / 4.0 * diameter**2 for diameter in (0.45, 0.50, 0.55)]
    prismoid = 1000.0 * 0.90 / 6.0 * (areas[0] + 4.0 * areas[1] + areas[2])
    assert BUTT.capacity_l == pytest.approx(prismoid)


@pytest.mark.parametrize(
    ("depth_m", "volume_l"),
    # V = L (R^2 acos((R - h)/R) - (R - h) sqrt(2 R h - h^2)), worked out apart.
    [(0.058, 12.1004), (0.145, 45.4546), (0.232, 86.8469), (0.290, 116.2515), (0.435, 187.0484)],
)
def test_a_drum_on_its_side(depth_m: float, volume_l: float) -> None:
    assert DRUM.volume_l(depth_m) == pytest.approx(volume_l, abs=5e-5)
    assert DRUM.depth_m(volume_l) == pytest.approx(depth_m, abs=1e-6)


@pytest.mark.parametrize(
    ("depth", "share"),
    # The circular segment's share of the circle at a share of the diameter, worked out apart.
    [
        (0.05, 0.018693),
        (0.10, 0.052044),
        (0.15, 0.094060),
        (0.20, 0.142378),
        (0.25, 0.195501),
        (0.30, 0.252316),
        (0.35, 0.311919),
        (0.40, 0.373530),
        (0.45, 0.436444),
        (0.50, 0.5),
    ],
)
def test_the_segment_of_a_circle(depth: float, share: float) -> None:
    assert DRUM.volume_l(depth * 0.58) / DRUM.capacity_l == pytest.approx(share, abs=5e-7)


def test_a_drum_a_quarter_deep() -> None:
    drum = HorizontalCylinder(diameter_m=2.0, length_m=1.0)
    exact = math.pi / 3.0 - math.sqrt(3.0) / 4.0  # 0.6141848 m3
    assert drum.volume_l(0.5) == pytest.approx(1000.0 * exact)


def test_a_barrel() -> None:
    # pi H/60 (3 d^2 + 4 d D + 8 D^2), parabolic staves; Kepler's rule would give 193.2456.
    assert BARREL.capacity_l == pytest.approx(192.3241, abs=5e-5)
    assert BARREL.volume_l(0.44) == pytest.approx(192.3241 / 2.0, abs=5e-5)


def test_a_barrel_part_full_by_summing_thin_discs() -> None:
    height, discs = 0.3, 20_000
    middles = (np.arange(discs) + 0.5) * height / discs
    diameters = 0.56 - 0.10 * (2.0 * middles / 0.88 - 1.0) ** 2
    summed = 1000.0 * math.pi / 4.0 * np.sum(diameters**2) * height / discs
    assert BARREL.volume_l(height) == pytest.approx(summed, rel=1e-8)


def test_a_millimetre_on_a_square_metre_is_a_litre() -> None:
    # By definition.
    litres = runoff_l(1.0, area_m2=1.0, share=1.0, runoff_coefficient=1.0, wetting_loss_mm=0.0)
    assert litres == 1.0


def test_a_store_of_five_percent_of_the_yield() -> None:
    # A worked value of the intermediate approach of BS 8515, from a secondary text: 125 m2, 650 mm,
    # yield 0.8, filter 0.95: 5 % of the annual yield are 3,087.5 L.
    yearly = runoff_l(
        650.0,
        area_m2=125.0,
        share=1.0,
        runoff_coefficient=0.8,
        wetting_loss_mm=0.0,
        filter_efficiency=0.95,
    )
    assert 0.05 * yearly == pytest.approx(3087.5)


def test_a_first_flush_of_a_gallon_for_a_hundred_square_feet() -> None:
    # Texas Manual on Rainwater Harvesting, 3rd ed. (2005), from a secondary text: 1 US gallon for
    # 100 square feet, which is 0.407 mm. Gallon and foot by definition.
    gallon_l, roof_m2 = 231.0 * 0.0254**3 * 1000.0, 100.0 * 0.3048**2
    flush_mm = gallon_l / roof_m2
    assert flush_mm == pytest.approx(0.407, abs=5e-4)
    hours = np.array([7.0, 8.0])
    passed = after_first_flush(np.array([2.0, 5.0]), hours, flush=flush_mm, dry_hours=6.0)
    kept_l = runoff_l(
        float(passed.sum()), area_m2=roof_m2, share=1.0, runoff_coefficient=1.0, wetting_loss_mm=0.0
    )
    assert kept_l == pytest.approx(7.0 * roof_m2 - gallon_l)
