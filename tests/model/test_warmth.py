"""What a probe teaches of a vessel, against vessels whose lag and sun are known."""

from __future__ import annotations

import numpy as np
import pytest

from steepwell.model.evapotranspiration import extraterrestrial_radiation_mj, hargreaves_mm
from steepwell.model.vessel import mean_and_end, time_constant_h
from steepwell.model.warmth import (
    LAG_BOUNDS,
    Warmth,
    learned_warmth,
    presumed_warmth,
    solar_by_et0_mj,
)

DAYS = 60


def weather(seed: int, days: int = DAYS) -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(seed)
    air = 15.0 + np.cumsum(rng.normal(0.0, 1.5, days)) * 0.5
    return air, rng.uniform(5.0, 25.0, days)


def vessel_days(
    air: np.ndarray, sun: np.ndarray, *, tau_h: float, sun_k: float, offset_c: float
) -> np.ndarray:
    """Return the mean temperature of a vessel on each day, by the exact solution."""
    end, means = float(air[0]), []
    for air_c, sun_mj in zip(air, sun, strict=True):
        gain = sun_k * sun_mj + offset_c
        mean, end = mean_and_end(end, air_c, hours=24.0, time_constant_h=tau_h, sun_gain_c=gain)
        means.append(mean)
    return np.array(means)


@pytest.mark.parametrize("insulation", ["none", "jacketed", "sunk"])
def test_before_a_probe_speaks_the_garden_file_holds(insulation: str) -> None:
    presumed = presumed_warmth(60.0, insulation)  # type: ignore[arg-type]
    assert presumed.time_constant_h == time_constant_h(60.0, insulation)  # type: ignore[arg-type]
    nothing = np.full(DAYS, np.nan)
    assert learned_warmth(presumed, nothing, *weather(1)) == presumed
    assert presumed.sun_var > 0.0
    assert presumed.offset_var > 0.0


@pytest.mark.parametrize(
    ("volume_l", "insulation", "lag", "sun"),
    [
        (30.0, "none", 0.7, 0.5),
        (60.0, "none", 1.0, 1.5),
        (60.0, "none", 1.3, 2.0),
        (120.0, "jacketed", 0.7, 0.3),
        (200.0, "sunk", 1.3, 1.5),
    ],
)
def test_two_months_of_a_probe_teach_lag_and_sun(
    volume_l: float, insulation: str, lag: float, sun: float
) -> None:
    presumed = presumed_warmth(volume_l, insulation)  # type: ignore[arg-type]
    tau_h, sun_k = lag * presumed.time_constant_h, sun * presumed.sun_k
    air, sun_mj = weather(2)
    measured = vessel_days(air, sun_mj, tau_h=tau_h, sun_k=sun_k, offset_c=0.3)
    learned = learned_warmth(presumed, measured, air, sun_mj)
    # What sun and offset come to on an ordinary day is what counts.
    truth_c = sun_k * 15.0 + 0.3
    assert learned.sun_k * 15.0 + learned.offset_c == pytest.approx(truth_c, abs=0.12)
    before, after = (abs(np.log(w.time_constant_h / tau_h)) for w in (presumed, learned))
    assert after < max(before, 0.05)
    assert learned.sun_var < presumed.sun_var
    assert learned.offset_var < presumed.offset_var


def test_gaps_in_what_was_heard_do_no_harm() -> None:
    presumed = presumed_warmth(60.0, "none")
    air, sun_mj = weather(3)
    measured = vessel_days(air, sun_mj, tau_h=presumed.time_constant_h, sun_k=0.09, offset_c=0.0)
    measured[[4, 5, 20, 33, 34, 35, 50]] = np.nan
    learned = learned_warmth(presumed, measured, air, sun_mj)
    assert learned.sun_k * 15.0 + learned.offset_c == pytest.approx(0.09 * 15.0, abs=0.12)


@pytest.mark.parametrize("wrong_c", [-8.0, 25.0])
def test_what_no_vessel_does_is_learned_within_bounds(wrong_c: float) -> None:
    presumed = presumed_warmth(60.0, "none")
    air, sun_mj = weather(4)
    learned = learned_warmth(presumed, air + wrong_c * sun_mj / 15.0, air, sun_mj)
    assert 0.0 <= learned.sun_k <= 4.0 * presumed.sun_k
    factor = learned.time_constant_h / presumed.time_constant_h
    assert LAG_BOUNDS[0] <= factor <= LAG_BOUNDS[1]


def test_more_days_make_it_surer() -> None:
    presumed = presumed_warmth(60.0, "none")
    air, sun_mj = weather(5)
    measured = vessel_days(
        air, sun_mj, tau_h=presumed.time_constant_h, sun_k=presumed.sun_k, offset_c=0.0
    )

    def spread(found: Warmth) -> float:
        return found.sun_var * 15.0**2 + 2.0 * 15.0 * found.both_var + found.offset_var

    spreads = [
        spread(learned_warmth(presumed, measured[:days], air[:days], sun_mj[:days]))
        for days in (0, 5, 15, 60)
    ]
    assert spreads == sorted(spreads, reverse=True)


@pytest.mark.parametrize("month_day", [80, 172, 300])
def test_the_sun_is_the_one_that_dries_the_beds(month_day: int) -> None:
    # FAO-56 eq. 50, p. 60: Rs = 0.16 √(Tmax - Tmin) Ra, inland.
    radiation = float(extraterrestrial_radiation_mj(51.0, float(month_day)))
    et0 = float(hargreaves_mm(8.0, 20.0, radiation))
    assert solar_by_et0_mj(et0, 14.0) == pytest.approx(0.16 * 12.0**0.5 * radiation)


def test_a_hard_frost_brings_no_endless_sun() -> None:
    assert 0.0 <= float(solar_by_et0_mj(0.05, -17.8)) < 3.0
