"""FAO-56: air, radiation and the Penman-Monteith equation through its worked examples.

Allen, Pereira, Raes and Smith (1998), Crop evapotranspiration, FAO Irrigation and Drainage
Paper 56. The source rounds between its steps, so that most results are held to a unit or two of
the last digit it prints.
"""

from __future__ import annotations

import pytest

from steepwell.model.air import (
    mean_saturation_kpa,
    pressure_kpa,
    psychrometric_constant_kpa_c,
    saturation_kpa,
    saturation_slope_kpa_c,
    vapour_by_humidity_kpa,
    vapour_by_mean_humidity_kpa,
    vapour_by_wet_bulb_kpa,
    wind_at_2_m_m_s,
)
from steepwell.model.evapotranspiration import (
    daylight_h,
    extraterrestrial_radiation_mj,
    hourly_radiation_mj,
)
from steepwell.model.penman_monteith import penman_monteith_daily_mm, penman_monteith_hourly_mm
from steepwell.model.radiation import (
    clear_sky_mj,
    net_long_wave_mj,
    net_short_wave_mj,
    soil_heat_hourly_mj,
    soil_heat_monthly_mj,
    solar_by_sunshine_mj,
)


@pytest.mark.parametrize(
    ("elevation", "pressure", "constant"),
    [
        (1800.0, 81.8, 0.054),  # Example 2, p. 32
        (2.0, 101.3, 0.0674),  # Example 17, p. 70
        (100.0, 100.1, 0.0666),  # Example 18, p. 72
    ],
)
def test_pressure_and_psychrometric_constant(
    elevation: float, pressure: float, constant: float
) -> None:
    assert pressure_kpa(elevation) == pytest.approx(pressure, abs=0.05)
    computed = psychrometric_constant_kpa_c(pressure_kpa(elevation))
    assert computed == pytest.approx(constant, abs=0.0005)


@pytest.mark.parametrize(
    ("temperature", "saturation"),
    # Examples 3 (p. 36), 5 (p. 39) and 18 (p. 73).
    [(24.5, 3.075), (15.0, 1.705), (18.0, 2.064), (25.0, 3.168), (21.5, 2.564), (12.3, 1.431)],
)
def test_saturation_vapour_pressure(temperature: float, saturation: float) -> None:
    assert saturation_kpa(temperature) == pytest.approx(saturation, abs=0.0006)


@pytest.mark.parametrize(
    ("tmin", "tmax", "mean"),
    # Examples 3 (p. 36), 17 (p. 70) and 18 (p. 73).
    [(15.0, 24.5, 2.39), (25.6, 34.8, 4.42), (12.3, 21.5, 1.997)],
)
def test_mean_saturation_vapour_pressure(tmin: float, tmax: float, mean: float) -> None:
    assert mean_saturation_kpa(tmin, tmax) == pytest.approx(mean, abs=0.005)


@pytest.mark.parametrize(
    ("temperature", "slope"),
    # Examples 17 (p. 70), 18 (p. 72), 19 (p. 75, two hours) and 20 (p. 77).
    [(30.2, 0.246), (16.9, 0.122), (28.0, 0.220), (38.0, 0.358), (20.7, 0.150)],
)
def test_slope_of_saturation(temperature: float, slope: float) -> None:
    assert saturation_slope_kpa_c(temperature) == pytest.approx(slope, abs=0.0006)


def test_vapour_pressure_by_two_thermometers() -> None:
    # Example 4, p. 38: at 1200 m, 25.6 °C dry and 19.5 °C wet: 1.91 kPa.
    vapour = vapour_by_wet_bulb_kpa(19.5, 25.6, pressure_kpa=pressure_kpa(1200.0))
    assert vapour == pytest.approx(1.91, abs=0.005)


def test_vapour_pressure_by_relative_humidity() -> None:
    # Example 5, p. 39: 1.70 kPa by both extremes, 1.78 kPa by their mean.
    both = vapour_by_humidity_kpa(18.0, 25.0, most_pct=82.0, least_pct=54.0)
    assert both == pytest.approx(1.70, abs=0.005)
    assert vapour_by_mean_humidity_kpa(18.0, 25.0, 68.0) == pytest.approx(1.78, abs=0.005)
    # Eq. 18, p. 39, with the 2.064 kPa of the example.
    greatest_alone = vapour_by_humidity_kpa(18.0, 25.0, most_pct=82.0)
    assert greatest_alone == pytest.approx(2.064 * 0.82, abs=0.001)


@pytest.mark.parametrize(
    ("measured", "height", "at_2_m", "tolerance"),
    # Examples 14 (p. 56) and 18 (p. 72); the second prints 10 km/h as 2.78 m/s.
    [(3.2, 10.0, 2.4, 0.05), (2.78, 10.0, 2.078, 0.002)],
)
def test_wind_at_2_m(measured: float, height: float, at_2_m: float, tolerance: float) -> None:
    assert wind_at_2_m_m_s(measured, height) == pytest.approx(at_2_m, abs=tolerance)


@pytest.mark.parametrize(
    ("latitude", "day", "hours"),
    # Examples 9 (p. 49), 10 (p. 50), 17 (p. 71) and 18 (p. 73).
    [(-20.0, 246, 11.7), (-22.9, 135, 10.9), (13 + 44 / 60, 105, 12.31), (50.8, 187, 16.1)],
)
def test_daylight(latitude: float, day: float, hours: float) -> None:
    assert daylight_h(latitude, day) == pytest.approx(hours, abs=0.05)


def test_radiation_of_a_month() -> None:
    """Examples 10 to 12, p. 50 to 53: Rio de Janeiro in May, 220 hours of sun in the month."""
    top = extraterrestrial_radiation_mj(-22.9, 135)
    solar = solar_by_sunshine_mj(top, 220.0 / 31.0, daylight_h(-22.9, 135))
    assert solar == pytest.approx(14.5, abs=0.06)
    short = net_short_wave_mj(solar)
    assert short == pytest.approx(11.1, abs=0.06)
    # The example divides by eq. 36, 0.75 Ra, which is eq. 37 at sea level.
    clearness = solar / clear_sky_mj(top, 0.0)
    long = net_long_wave_mj(19.1, 25.1, vapour_kpa=2.1, clearness=clearness)
    assert long == pytest.approx(3.5, abs=0.06)
    assert short - long == pytest.approx(7.6, abs=0.1)  # printed as 7.6 and as 7.7


def test_soil_heat_of_a_month() -> None:
    # Example 13, p. 55: Algiers, 14.1, 16.1 and 18.8 °C: 0.33 MJ.
    assert soil_heat_monthly_mj(14.1, 16.1, 18.8) == pytest.approx(0.33, abs=0.005)
    # Example 17, p. 71: Bangkok, the next month unknown: 0.14 MJ.
    assert soil_heat_monthly_mj(29.2, 30.2) == pytest.approx(0.14, abs=0.005)


def test_a_month_in_bangkok() -> None:
    """Example 17, p. 70 to 71, printed 5.72 mm; it rounds (0.34 - 0.14 √ea) to 0.10."""
    top = extraterrestrial_radiation_mj(13 + 44 / 60, 105)
    solar = solar_by_sunshine_mj(top, 8.5, daylight_h(13 + 44 / 60, 105))
    clear = clear_sky_mj(top, 2.0)
    assert (solar, clear) == pytest.approx((22.65, 28.54), abs=0.02)
    long = net_long_wave_mj(25.6, 34.8, vapour_kpa=2.85, clearness=solar / clear)
    assert long == pytest.approx(3.11, abs=0.02)
    net = net_short_wave_mj(solar) - long
    assert net == pytest.approx(14.33, abs=0.02)
    et0 = penman_monteith_daily_mm(
        30.2,
        net_radiation_mj=net,
        soil_heat_mj=soil_heat_monthly_mj(29.2, 30.2),
        wind_m_s=2.0,
        vapour_deficit_kpa=mean_saturation_kpa(25.6, 34.8) - 2.85,
        psychrometric_kpa_c=psychrometric_constant_kpa_c(pressure_kpa(2.0)),
    )
    assert et0 == pytest.approx(5.72, abs=0.01)


def test_a_day_in_uccle() -> None:
    """Example 18, p. 72 to 73, printed 3.88 mm."""
    top = extraterrestrial_radiation_mj(50.8, 187)
    solar = solar_by_sunshine_mj(top, 9.25, daylight_h(50.8, 187))
    clear = clear_sky_mj(top, 100.0)
    assert (solar, clear) == pytest.approx((22.07, 30.90), abs=0.01)
    vapour = vapour_by_humidity_kpa(12.3, 21.5, most_pct=84.0, least_pct=63.0)
    assert vapour == pytest.approx(1.409, abs=0.001)
    long = net_long_wave_mj(12.3, 21.5, vapour_kpa=vapour, clearness=solar / clear)
    assert long == pytest.approx(3.71, abs=0.01)
    et0 = penman_monteith_daily_mm(
        16.9,
        net_radiation_mj=net_short_wave_mj(solar) - long,
        soil_heat_mj=0.0,
        wind_m_s=wind_at_2_m_m_s(10.0 / 3.6, 10.0),
        vapour_deficit_kpa=mean_saturation_kpa(12.3, 21.5) - vapour,
        psychrometric_kpa_c=psychrometric_constant_kpa_c(pressure_kpa(100.0)),
    )
    assert et0 == pytest.approx(3.88, abs=0.005)


@pytest.mark.parametrize(
    ("wind", "et0"),
    # Example 20, p. 77 to 78: Lyon in July, 14.8 and 26.6 °C, humidity and sun told from these.
    [(1.0, 4.2), (2.0, 4.56), (3.0, 4.8)],
)
def test_a_month_in_lyon_without_humidity_and_sun(wind: float, et0: float) -> None:
    top, vapour = 40.55, saturation_kpa(14.8)  # both as the example has them
    solar = 0.16 * (26.6 - 14.8) ** 0.5 * top
    long = net_long_wave_mj(
        14.8, 26.6, vapour_kpa=vapour, clearness=solar / clear_sky_mj(top, 200.0)
    )
    computed = penman_monteith_daily_mm(
        20.7,
        net_radiation_mj=net_short_wave_mj(solar) - long,
        soil_heat_mj=0.0,
        wind_m_s=wind,
        vapour_deficit_kpa=mean_saturation_kpa(14.8, 26.6) - vapour,
        psychrometric_kpa_c=psychrometric_constant_kpa_c(pressure_kpa(200.0)),
    )
    assert computed == pytest.approx(et0, abs=0.05)


# Example 19, p. 75 to 76: N'Diaye, 1 October, 16.22 °N and 16.25 °W, clock of 15 °W, 8 m.
NDIAYE_TOP = {
    "day_of_year": 274,
    "latitude_deg": 16.2167,
    "longitude_deg": -16.25,
    "zone_deg": -15.0,
}


@pytest.mark.parametrize(("clock_h", "top"), [(14.5, 3.543), (2.5, 0.0)])
def test_radiation_of_an_hour_above_the_air(clock_h: float, top: float) -> None:
    assert hourly_radiation_mj(**NDIAYE_TOP, clock_h=clock_h) == pytest.approx(top, abs=0.002)


@pytest.mark.parametrize(
    ("temperature", "humidity", "wind", "solar", "clearness", "net", "soil", "et0"),
    [
        (38.0, 52.0, 3.3, 2.450, 2.450 / 2.658, 1.749, 0.175, 0.63),  # 14 to 15 h
        (28.0, 90.0, 1.9, 0.0, 0.8, -0.100, -0.050, 0.00),  # 2 to 3 h, clearness assumed
    ],
)
def test_two_hours_in_ndiaye(  # noqa: PLR0917 - the columns of the example
    temperature: float,
    humidity: float,
    wind: float,
    solar: float,
    clearness: float,
    net: float,
    soil: float,
    et0: float,
) -> None:
    vapour = vapour_by_mean_humidity_kpa(temperature, temperature, humidity)
    long = net_long_wave_mj(
        temperature, temperature, vapour_kpa=vapour, clearness=clearness, hours=1.0
    )
    net_radiation = net_short_wave_mj(solar) - long
    assert net_radiation == pytest.approx(net, abs=0.002)
    soil_heat = soil_heat_hourly_mj(net_radiation)
    assert soil_heat == pytest.approx(soil, abs=0.001)
    computed = penman_monteith_hourly_mm(
        temperature,
        net_radiation_mj=net_radiation,
        soil_heat_mj=soil_heat,
        wind_m_s=wind,
        vapour_deficit_kpa=saturation_kpa(temperature) - vapour,
        psychrometric_kpa_c=psychrometric_constant_kpa_c(pressure_kpa(8.0)),
    )
    assert computed == pytest.approx(et0, abs=0.006)
