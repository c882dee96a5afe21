"""FAO-56: the worked examples of the source, at the precision it prints.

Allen, Pereira, Raes and Smith (1998), Crop evapotranspiration, FAO Irrigation and Drainage
Paper 56.
"""

from __future__ import annotations

import numpy as np
import pytest

from steepwell.model.crop import CropCurve, mulched_kc
from steepwell.model.evapotranspiration import extraterrestrial_radiation_mj, hargreaves_mm
from steepwell.model.soil import raw_mm, root_zone_step, stress_coefficient, taw_mm


@pytest.mark.parametrize(
    ("latitude", "day", "radiation", "tolerance"),
    [
        (-20.0, 246, 32.2, 0.05),  # Example 8, p. 47
        (-(22 + 54 / 60), 135, 25.1, 0.05),  # Example 10, p. 50
        (45 + 43 / 60, 196, 40.6, 0.05),  # Example 15, p. 61
        (13 + 44 / 60, 105, 38.06, 0.005),  # Example 17, p. 70
        (50 + 48 / 60, 187, 41.09, 0.005),  # Example 18, p. 72
    ],
)
def test_extraterrestrial_radiation(
    latitude: float, day: float, radiation: float, tolerance: float
) -> None:
    computed = extraterrestrial_radiation_mj(latitude, day)
    assert computed == pytest.approx(radiation, abs=tolerance)


def test_hargreaves() -> None:
    # Example 20, p. 78: Lyon in July, 14.8 and 26.6 °C, Ra 40.55 MJ: 5.0 mm/d.
    assert hargreaves_mm(14.8, 26.6, 40.55) == pytest.approx(5.0, abs=0.05)


@pytest.mark.parametrize(("day", "kc"), [(20, 0.15), (40, 0.77), (70, 1.19), (95, 0.56)])
def test_crop_coefficient_along_the_stages(day: float, kc: float) -> None:
    # Example 28, p. 133: dry bean, 25/25/30/20 d, 0.15/1.19/0.35.
    bean = CropCurve(stage_days=(25, 25, 30, 20), kc=(0.15, 1.19, 0.35), root_m=(0.2, 0.6))
    assert bean.kc_on(day) == pytest.approx(kc, abs=0.005)


ONION, TOMATO, MAIZE = (0.4, 0.30), (0.8, 0.40), (1.2, 0.55)
LOAMY_SAND, SILT, SILTY_CLAY = (0.15, 0.06), (0.32, 0.15), (0.35, 0.23)


@pytest.mark.parametrize(
    ("crop", "soil", "taw", "raw"),
    # Example 36, p. 166, printed in whole millimetres.
    [
        (ONION, LOAMY_SAND, 36, 11),
        (ONION, SILT, 68, 20),
        (ONION, SILTY_CLAY, 48, 14),
        (TOMATO, LOAMY_SAND, 72, 29),
        (TOMATO, SILT, 136, 54),
        (TOMATO, SILTY_CLAY, 96, 38),
        (MAIZE, LOAMY_SAND, 108, 59),
        (MAIZE, SILT, 204, 112),
        (MAIZE, SILTY_CLAY, 144, 79),
    ],
)
def test_available_water(
    crop: tuple[float, float], soil: tuple[float, float], taw: float, raw: float
) -> None:
    root_m, p = crop
    computed = taw_mm(root_m, *soil)
    assert computed == pytest.approx(taw, abs=0.5)
    assert raw_mm(computed, p) == pytest.approx(raw, abs=0.5)


# Example 37, p. 168: tomato drying down; depletion at the start, Ks, ETc adj, depletion at the end.
# One digit is printed, and each row is built on the rounded one before it: 0.06 mm.
DRYING_DOWN = [
    (55.0, 1.00, 6.0, 61.0),
    (61.0, 1.00, 6.0, 67.0),
    (67.0, 0.97, 5.8, 72.8),
    (72.8, 0.91, 5.4, 78.3),
    (78.3, 0.85, 5.1, 83.4),
    (83.4, 0.80, 4.8, 88.2),
    (88.2, 0.75, 4.5, 92.6),
    (92.6, 0.70, 4.2, 96.9),
    (96.9, 0.66, 3.9, 100.8),
    (100.8, 0.62, 3.7, 104.5),
]


def test_a_bed_that_dries_down_day_by_day() -> None:
    taw = taw_mm(0.8, 0.32, 0.12)
    raw = raw_mm(taw, 0.40)
    depletion = 55.0
    for start, ks, printed_eta, end in DRYING_DOWN:
        assert depletion == pytest.approx(start, abs=0.06)
        assert stress_coefficient(depletion, taw, raw) == pytest.approx(ks, abs=0.006)
        depletion, eta, percolation = root_zone_step(
            depletion, rain_mm=0.0, irrigation_mm=0.0, etc_mm=6.0, taw_mm=taw, raw_mm=raw
        )
        assert eta == pytest.approx(printed_eta, abs=0.06)
        assert depletion == pytest.approx(end, abs=0.06)
        assert percolation == 0.0


# Example 38, p. 172 to 173: irrigation, rain, ETc, percolation, depletion at the end of the day.
# Depletion and percolation are printed in whole millimetres and carried on from there: 1 mm.
WATERED = [
    (40, 0, 5.5, 17, 5),
    (0, 0, 6.1, 0, 12),
    (0, 0, 4.0, 0, 16),
    (0, 0, 2.9, 0, 18),
    (0, 0, 2.5, 0, 21),
    (0, 6, 2.7, 0, 18),
    (0, 0, 4.7, 0, 22),
    (0, 0, 2.8, 0, 25),
    (0, 0, 2.2, 0, 27),
    (27, 0, 6.3, 0, 6),
]


def test_a_bed_that_is_watered_day_by_day() -> None:
    """The water comes early in the day, as the example has it; eq. 88 as printed would not."""
    depletion = 23.0
    depths_m = np.linspace(0.30, 0.35, len(WATERED))
    for root_m, (irrigation, rain, etc, printed_percolation, end) in zip(
        depths_m.tolist(), WATERED, strict=True
    ):
        depletion, eta, percolation = root_zone_step(
            depletion,
            rain_mm=float(rain),
            irrigation_mm=float(irrigation),
            etc_mm=etc,
            taw_mm=130.0 * root_m,
            raw_mm=78.0 * root_m,
        )
        assert eta == pytest.approx(etc)
        assert depletion == pytest.approx(end, abs=1.0)
        assert percolation == pytest.approx(printed_percolation, abs=1.0)


def test_mulch_on_half_the_surface() -> None:
    # Ch. 10, p. 196 to 198: 50 % cover lowers Kc ini by 25 %, and Kc mid and end by 25 % of what
    # lies between Kc and Kcb. Cabbage, Tables 12 (p. 110) and 17 (p. 137).
    cabbage = CropCurve(
        stage_days=(40, 60, 50, 15), kc=(0.7, 1.05, 0.95), root_m=(0.2, 0.6), kcb=(0.95, 0.85)
    )
    days = np.array([20.0, 120.0, 165.0])
    lowered = mulched_kc(cabbage.kc_on(days), cover=0.5, basal_kc=cabbage.basal_kc_on(days))
    assert lowered == pytest.approx([0.75 * 0.7, 1.05 - 0.25 * 0.10, 0.95 - 0.25 * 0.10])
