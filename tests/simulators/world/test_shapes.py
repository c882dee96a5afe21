from __future__ import annotations

from typing import Any

import pytest

from steepwell.garden.water import Butt
from steepwell_sim.world.shapes import gauging_of

FRUSTUM = {
    "kind": "cone frustum",
    "bottom_diameter": "45 cm",
    "top_diameter": "55 cm",
    "height": "90 cm",
}
DRUM = {"kind": "horizontal cylinder", "diameter": "58 cm", "length": "88 cm"}
BARREL = {
    "kind": "barrel",
    "end_diameter": "46 cm",
    "middle_diameter": "56 cm",
    "height": "88 cm",
}
TABLE = {"kind": "strapping table", "depths": ["20 cm", "50 cm"], "litres": ["30 L", "90 L"]}
BOX = {"kind": "box", "length": "50 cm", "width": "40 cm", "height": "1 m"}
UPRIGHT = {"kind": "upright cylinder", "diameter": "50 cm", "height": "80 cm"}


@pytest.mark.parametrize(
    ("shape", "depth_m", "litres"),
    [
        # V = πh/3 (R1² + R1R2 + R2²), the formula of the frustum.
        (FRUSTUM, 0.90, 177.3036),
        (FRUSTUM, 0.45, 79.8161),
        (FRUSTUM, 0.10, 16.3002),
        # V = L (R² acos((R - h)/R) - (R - h) √(2Rh - h²)), the formula of the lying cylinder.
        (DRUM, 0.58, 232.5030),
        (DRUM, 0.145, 45.4546),
        (DRUM, 0.29, 116.2515),
        # πH/60 (3d² + 4dD + 8D²), the formula of the barrel with parabolic staves.
        (BARREL, 0.88, 192.3241),
        (BARREL, 0.44, 192.3241 / 2),
        (BOX, 0.25, 50.0),
        (UPRIGHT, 0.8, 157.0796),  # π/4 · 0.5² · 0.8 m³
        (TABLE, 0.35, 60.0),
        (TABLE, 0.10, 15.0),
    ],
)
def test_litres_at_a_depth(shape: dict[str, Any], depth_m: float, litres: float) -> None:
    gauging = gauging_of(Butt.model_validate({"name": "butt", "shape": shape}))
    assert gauging.volume_l(depth_m) == pytest.approx(litres, rel=2e-4)
    assert gauging.depth_m(litres) == pytest.approx(depth_m, abs=5e-4)


def test_a_label_is_enough() -> None:
    gauging = gauging_of(Butt.model_validate({"name": "butt", "litres": "210 L"}))
    assert gauging.capacity_l == 210
    assert gauging.volume_l(gauging.height_m / 2) == pytest.approx(105)


def test_no_more_than_full_and_no_less_than_empty() -> None:
    gauging = gauging_of(Butt.model_validate({"name": "butt", "shape": BOX}))
    assert gauging.volume_l(2.0) == pytest.approx(200)
    assert gauging.depth_m(-1.0) == 0
