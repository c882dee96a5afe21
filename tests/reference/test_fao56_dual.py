"""FAO-56: the dual crop coefficient through its worked examples.

Allen, Pereira, Raes and Smith (1998), Crop evapotranspiration, FAO Irrigation and Drainage
Paper 56.
"""

from __future__ import annotations

import numpy as np
import pytest

from steepwell.model.canopy import climate_adjusted_kc, ground_cover, most_kc
from steepwell.model.crop import CropCurve
from steepwell.model.dual import dual_step, surface_percolation_mm, surface_step
from steepwell.model.evaporation import (
    evaporation_coefficient,
    evaporation_reduction,
    exposed_share,
    total_evaporable_mm,
    wetted_share,
)


@pytest.mark.parametrize(
    ("table", "wind", "humidity", "height", "kc"),
    [
        (1.20, 1.3, 75.0, 2.0, 1.07),  # Example 27, p. 125: maize, Taipei
        (1.20, 4.6, 44.0, 2.0, 1.30),  # Example 27: maize, Mocha
        (1.10, 2.2, 30.0, 0.4, 1.14),  # Example 29, p. 136: dry bean, Kcb in mid-season
        (0.25, 2.2, 30.0, 0.4, 0.25),  # Example 29: Kcb at the end, under 0.45
        (1.20, 2.2, 30.0, 0.5, 1.24),  # eq. 68, p. 134: alfalfa at Kimberly
        (1.20, 1.1, 30.0, 0.75, 1.22),  # Example 40, p. 185: tomato at Davis, Kc
        (1.15, 1.1, 30.0, 0.75, 1.17),  # Example 40: the same, Kcb
        (1.20, 1.5, 55.0, 2.0, 1.15),  # Example 41, p. 190: Kcb of full cover, eq. 100
    ],
)
def test_climate_adjustment(
    table: float, wind: float, humidity: float, height: float, kc: float
) -> None:
    adjusted = climate_adjusted_kc(
        table, wind_m_s=wind, least_humidity_pct=humidity, height_m=height
    )
    assert adjusted == pytest.approx(kc, abs=0.0051)


def test_basal_coefficient_along_the_stages() -> None:
    # Example 30, p. 141: dry bean, 25/25/30/20 d, the coefficients of Example 29.
    bean = CropCurve(
        stage_days=(25, 25, 30, 20), kc=(0.4, 1.15, 0.35), root_m=(0.2, 0.6), kcb=(1.14, 0.25)
    )
    days = np.array([12.0, 37.0, 65.0, 90.0])
    assert bean.kcb_on(days) == pytest.approx([0.15, 0.63, 1.14, 0.70], abs=0.0051)


@pytest.mark.parametrize(
    ("kcb", "wind", "humidity", "height", "limit"),
    [
        (0.9, 3.0, 20.0, 1.0, 1.30),  # Example 32, p. 150
        (0.3, 1.6, 35.0, 0.3, 1.21),  # Example 35, p. 154
        (0.15, 2.0, 45.0, 0.1, 1.20),  # Example 31, p. 146: sub-humid, light wind
        (1.19, 2.0, 45.0, 0.4, 1.24),  # eq. 72, p. 143: never under Kcb + 0.05
    ],
)
def test_upper_limit_of_the_coefficient(
    kcb: float, wind: float, humidity: float, height: float, limit: float
) -> None:
    computed = most_kc(kcb, height_m=height, wind_m_s=wind, least_humidity_pct=humidity)
    assert computed == pytest.approx(limit, abs=0.0051)


def test_total_evaporable_water() -> None:
    # Example 35, p. 154: sandy loam, 0.23 and 0.10, Ze of 0.1 m: 18 mm.
    assert total_evaporable_mm(0.23, 0.10) == pytest.approx(18.0)
    # Ch. 11, p. 208: 5 % less for each 10 % of bare ground under mulch.
    assert total_evaporable_mm(0.23, 0.10, residue_cover=0.6) == pytest.approx(0.7 * 18.0)


# Examples 32 to 34, p. 150 to 151: cotton, Kcb 0.9, Kc max 1.30, h 1 m, freshly watered. Under
# drip the share wetted is multiplied by 1 - 0.67 fc, as p. 147 has it.
@pytest.mark.parametrize(
    ("wetted", "exposed", "ke"),
    [(1.0, 0.47, 0.40), (0.3, 0.30, 0.39), (0.3 * (1.0 - 0.67 * 0.53), 0.19, 0.25)],
    ids=["sprinkler", "furrow", "drip"],
)
def test_evaporation_of_wet_soil(wetted: float, exposed: float, ke: float) -> None:
    cover = ground_cover(0.9, kc_max=1.30, height_m=1.0)
    assert cover == pytest.approx(0.53, abs=0.005)
    few = exposed_share(cover, wetted)
    assert few == pytest.approx(exposed, abs=0.006)
    computed = evaporation_coefficient(1.0, kcb=0.9, kc_max=1.30, exposed=few)
    assert computed == pytest.approx(ke, abs=0.006)


# Example 31, p. 146: bare loam after heavy rain; Kr, depletion at the end of the day, ETc.
DRYING_LOAM = [
    (1.00, 4.73, 5.4),
    (1.00, 9.45, 5.4),
    (0.96, 13.98, 5.2),
    (0.55, 16.57, 3.3),
    (0.31, 18.04, 2.1),
    (0.18, 18.88, 1.5),
    (0.10, 19.36, 1.2),
    (0.06, 19.64, 0.9),
    (0.03, 19.79, 0.8),
    (0.02, 19.88, 0.8),
]


def test_bare_soil_drying_day_by_day() -> None:
    surface, root_zone = 0.0, 0.0
    for kr, end, etc in DRYING_LOAM:
        assert evaporation_reduction(surface, 20.0, 9.0) == pytest.approx(kr, abs=0.006)
        day = dual_step(
            surface,
            root_zone,
            rain_mm=0.0,
            irrigation_mm=0.0,
            et0_mm=4.5,
            kcb=0.15,
            kc_max=1.20,
            exposed=1.0,
            tew_mm=20.0,
            rew_mm=9.0,
            taw_mm=150.0,
            raw_mm=75.0,
        )
        assert day.surface_mm == pytest.approx(end, abs=0.01)
        # One digit is printed: 2.150 unrounded stands there as 2.1, 0.831 as 0.8.
        assert day.eta_mm == pytest.approx(etc, abs=0.051)
        assert day.depletion_mm == pytest.approx(root_zone + day.eta_mm)
        surface, root_zone = day.surface_mm, day.depletion_mm


# Example 35, p. 154 to 155: ET0, rain, irrigation over the bed, 1 - fc, fw, few, Kcb, De at the
# start after the water, De at the end, Ke, ETc. The table was built with De in whole millimetres:
# unrounded, De is off by up to 1 mm, Ke by up to 0.05 and ETc by up to 0.25 mm. On the third day
# the source prints 4.0 mm for ETc where its own Ke and Kcb make 3.7 mm.
TEN_DAYS = [
    (4.5, 0.0, 40.0, 0.92, 0.8, 0.80, 0.30, 0, 5, 0.91, 5.5),
    (5.0, 0.0, 0.0, 0.91, 0.8, 0.80, 0.31, 5, 11, 0.90, 6.1),
    (3.9, 0.0, 0.0, 0.91, 0.8, 0.80, 0.32, 11, 14, 0.62, 4.0),
    (4.2, 0.0, 0.0, 0.90, 0.8, 0.80, 0.33, 14, 16, 0.35, 2.9),
    (4.8, 0.0, 0.0, 0.89, 0.8, 0.80, 0.34, 16, 17, 0.18, 2.5),
    (2.7, 6.0, 0.0, 0.89, 1.0, 0.89, 0.36, 11, 13, 0.64, 2.7),
    (5.8, 0.0, 0.0, 0.88, 1.0, 0.88, 0.37, 13, 16, 0.45, 4.7),
    (5.1, 0.0, 0.0, 0.87, 1.0, 0.87, 0.38, 16, 17, 0.17, 2.8),
    (4.7, 0.0, 0.0, 0.87, 1.0, 0.87, 0.39, 17, 18, 0.08, 2.2),
    (5.2, 0.0, 0.0, 0.86, 1.0, 0.86, 0.40, 18, 18, 0.04, 2.3),
]


def test_ten_days_with_irrigation_and_rain() -> None:
    surface, wetted = 18.0, 1.0
    for et0, rain, irrigation, open_share, fw, few, kcb, start, end, ke, etc in TEN_DAYS:
        wetted = wetted_share(wetted, rain_mm=rain, irrigation_mm=irrigation, irrigation_share=0.8)
        assert wetted == fw
        exposed = exposed_share(1.0 - open_share, wetted)
        assert exposed == pytest.approx(few)
        water = rain + irrigation / wetted
        if irrigation:
            assert water == pytest.approx(50.0)  # column 4
            assert surface_percolation_mm(surface, water) == pytest.approx(32.0)  # column 13
        assert max(surface - water, 0.0) == pytest.approx(start, abs=1.0)
        surface, evaporation = surface_step(
            surface,
            water_mm=water,
            et0_mm=et0,
            kcb=kcb,
            kc_max=1.21,
            exposed=exposed,
            tew_mm=18.0,
            rew_mm=8.0,
        )
        assert surface == pytest.approx(end, abs=1.0)
        assert evaporation / et0 == pytest.approx(ke, abs=0.05)
        assert kcb * et0 + evaporation == pytest.approx(etc, abs=0.25)


def test_mulch_takes_its_share_of_evaporation_alone() -> None:
    # Ch. 10, p. 198: Ke ET0 falls by 5 % for each 10 % of the surface covered; Kcb stays.
    bare, mulched = (
        dual_step(
            0.0,
            20.0,
            rain_mm=0.0,
            irrigation_mm=0.0,
            et0_mm=5.0,
            kcb=0.5,
            kc_max=1.2,
            exposed=0.8,
            tew_mm=20.0,
            rew_mm=9.0,
            taw_mm=80.0,
            raw_mm=40.0,
            mulch_cover=cover,
        )
        for cover in (0.0, 0.7)
    )
    assert mulched.evaporation_mm == pytest.approx(0.65 * bare.evaporation_mm)
    assert bare.eta_mm - bare.evaporation_mm == pytest.approx(0.5 * 5.0)
    assert mulched.eta_mm - mulched.evaporation_mm == pytest.approx(0.5 * 5.0)
