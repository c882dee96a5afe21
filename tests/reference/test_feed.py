"""Feed: published decay, what gardeners do at two weeks and at a year, spoons and cans."""

from __future__ import annotations

import csv
import math
from typing import TYPE_CHECKING

import numpy as np
import pytest

from steepwell.decide.dosing import dose
from steepwell.model.ageing import ageing_per_day, lloyd_taylor, thermal_age_d
from steepwell.model.dilution import MOST_PARTS, RATE_PER_D, dilution_parts, dose_l, rung
from steepwell.model.vessel import cool, time_constant_h

if TYPE_CHECKING:
    from pathlib import Path

    from steepwell.model.values import Array

YEAR_D = 365
VESSEL_L = 100.0


@pytest.mark.parametrize(
    ("temperature", "rate"),
    # Lloyd and Taylor (1994), Functional Ecology 8, 315 to 323, eq. 11, with 0 °C at 273.15 K.
    [
        (-5.0, 0.13343),
        (0.0, 0.30214),
        (5.0, 0.58287),
        (10.0, 1.0),
        (15.0, 1.57040),
        (20.0, 2.30320),
        (25.0, 3.20061),
        (30.0, 4.25928),
        (35.0, 5.47171),
    ],
)
def test_the_published_rate_of_decay(temperature: float, rate: float) -> None:
    assert lloyd_taylor(temperature) == pytest.approx(rate, abs=1e-5)


@pytest.mark.parametrize(
    ("weeks", "fraction"),
    # Stanford and Smith (1972), Soil Science Society of America Proceedings 36, 465 to 472:
    # Nt = N0 (1 - exp(-kt)) with k = 0.054 a week, at 35 °C.
    [(2, 0.1024), (4, 0.1943), (8, 0.3508), (16, 0.5785), (30, 0.8021)],
)
def test_first_order_release_is_what_mineralises(weeks: int, fraction: float) -> None:
    # The thinning curve is first order too, at 0.001 a day: as much is given off at this age.
    age_d = weeks * 0.054 / RATE_PER_D
    never = dilution_parts(1.0) / -math.expm1(-RATE_PER_D)
    uncapped = min(float(dilution_parts(age_d)), MOST_PARTS)
    assert uncapped == pytest.approx(min(fraction * never, MOST_PARTS), rel=1e-3)


def test_two_warm_weeks_make_a_feed_of_one_to_thirty() -> None:
    # Common practice, no source: 1:30 after two weeks in a warm month, taken as 17 °C.
    age = float(thermal_age_d(np.full(14, 17.0), 24.0))
    assert age == pytest.approx(14.0)
    assert rung(float(dilution_parts(age))) == 30


def vessel_outdoors(record: Path) -> Array:
    """Return the daily temperature of a bare vessel that follows the daily mean of the air."""
    with record.open(encoding="ascii", newline="") as lines:
        rows = list(csv.DictReader(lines))
    air = [(float(row["tmin_c"]) + float(row["tmax_c"])) / 2.0 for row in rows]
    time_constant = time_constant_h(VESSEL_L)
    temperatures = [air[0]]
    for mean in air[1:]:
        after = cool(temperatures[-1], mean, hours=24.0, time_constant_h=time_constant)
        temperatures.append(after)
    return np.array(temperatures)


@pytest.mark.parametrize("place", ["brussels", "cambridge"])
def test_a_year_outdoors_thins_a_feed_as_practice_has_it(
    place: str, record_paths: dict[str, Path]
) -> None:
    # Common practice, no source: 1:400 to 1:500 at about a year. 1:370 leaves a start before a
    # cool year a little room; the middle of all start dates of the record must keep to practice.
    ages = np.cumsum(ageing_per_day(vessel_outdoors(record_paths[place])))
    parts = dilution_parts(ages[YEAR_D:] - ages[:-YEAR_D])
    assert len(parts) > 28 * YEAR_D
    assert parts.min() >= 370.0
    assert parts.max() <= 500.0
    assert 400.0 <= np.median(parts) <= 500.0


@pytest.mark.parametrize("place", ["brussels", "cambridge"])
def test_two_weeks_in_july_make_a_feed_ready(place: str, record_paths: dict[str, Path]) -> None:
    # Common practice, no source: two weeks in a warm month; a cool July takes some days more.
    temperatures = vessel_outdoors(record_paths[place])
    first = np.datetime64({"brussels": "1976-01-01", "cambridge": "1991-01-01"}[place])
    days = first + np.arange(len(temperatures))
    starts = np.flatnonzero((days.astype("datetime64[M]").astype(int) % 12) == 6)
    ages = np.cumsum(ageing_per_day(temperatures))
    took = np.searchsorted(ages, ages[starts] + 14.0) - starts
    assert 12 <= np.median(took) <= 16


def test_a_can_at_one_to_four_hundred_and_fifty() -> None:
    # Common practice, no source: at 1:450 a 4.5 L can takes 10 mL, two teaspoons.
    told = dose(4.5, 450)
    assert (told.feed_ml, told.spoons) == (10.0, "2 teaspoons")


@pytest.mark.parametrize(
    ("can_l", "parts", "spoons"),
    # Metric spoons of 5 and 15 mL, from memory; cans that take one exactly.
    [(5.0, 999, "1 teaspoon"), (15.0, 999, "1 tablespoon"), (4.5, 899, "1 teaspoon")],
)
def test_metric_spoons(can_l: float, parts: float, spoons: str) -> None:
    assert dose(can_l, parts).text == spoons


def test_one_to_ten_is_one_part_in_eleven() -> None:
    # By definition: one part of feed and ten of water, 9.09 % of the can.
    assert dose_l(1.0, 10.0) == pytest.approx(0.0909, abs=5e-5)
