"""Warmth that lasts: what a record says of it, and what it does to members."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest
from tests.gardens import flat_record

from steepwell.outlook.observed import Observed
from steepwell.outlook.persistence import carry_warmth_on, lasting_share, warmer_than_usual_c
from steepwell.outlook.record import Record
from steepwell.outlook.weather import Weather

YEARS_D = 30 * 365
FIRST = date(1990, 1, 1)
JUNE = date(2031, 6, 10)


def lasting(share: float, seed: int = 1) -> Record:
    """Return a record whose warmth lasts by a known share from one day to the next."""
    rng = np.random.default_rng(seed)
    apart = np.zeros(YEARS_D)
    for day in range(1, YEARS_D):
        apart[day] = share * apart[day - 1] + 3.0 * np.sqrt(1 - share**2) * rng.standard_normal()
    season = 10.0 - 8.0 * np.cos(2 * np.pi * np.arange(YEARS_D) / 365.25)
    mean = season + apart
    return Record(FIRST, np.zeros(YEARS_D), mean - 4.0, mean + 4.0, np.full(YEARS_D, np.nan))


@pytest.mark.parametrize("share", [0.0, 0.5, 0.8])
def test_a_record_tells_how_long_warmth_lasts(share: float) -> None:
    assert lasting_share(lasting(share)) == pytest.approx(share, abs=0.04)


@pytest.mark.parametrize(
    "record", [flat_record(), flat_record(date(2010, 1, 1), date(2010, 12, 31))]
)
def test_a_record_that_cannot_tell_says_that_none_lasts(record: Record) -> None:
    assert lasting_share(record) == 0.0


def observed(tmin_c: float, tmax_c: float, *, guessed: bool) -> Observed:
    days = 5
    return Observed(
        JUNE - timedelta(days=days),
        np.zeros(days),
        np.full(days, tmin_c),
        np.full(days, tmax_c),
        0.0,
        0,
        temperature_guessed=np.full(days, guessed),
    )


def test_yesterday_against_what_is_usual() -> None:
    record = flat_record(tmin_c=10.0, tmax_c=20.0)
    assert warmer_than_usual_c(observed(14.0, 24.0, guessed=False), record) == pytest.approx(4.0)
    assert warmer_than_usual_c(observed(14.0, 24.0, guessed=True), record) is None
    assert warmer_than_usual_c(observed(14.0, 24.0, guessed=False), None) is None


def test_members_begin_warm_and_forget_it() -> None:
    record = lasting(0.8)
    rng = np.random.default_rng(2)
    _, tmin, tmax = record.normal(JUNE)
    usual = (tmin + tmax) / 2
    apart = np.zeros((20, 4000))
    apart[0] = 3.0 * rng.standard_normal(4000)
    for day in range(1, 20):
        apart[day] = 0.8 * apart[day - 1] + 3.0 * 0.6 * rng.standard_normal(4000)
    weather = Weather(np.zeros(apart.shape), usual + apart, np.zeros(apart.shape))
    warm = carry_warmth_on(weather, record, JUNE, 6.0).mean_c - usual
    # A first-order process: after k + 1 days 0.8^(k + 1) of it is left, and the spread has grown
    # back to √(1 - 0.8^(2k + 2)) of 3 K.
    for day in (0, 3, 7, 19):
        left = 0.8 ** (day + 1)
        assert warm[day].mean() == pytest.approx(6.0 * left, abs=0.25)
        assert warm[day].std() == pytest.approx(3.0 * np.sqrt(1.0 - left**2), rel=0.06)
    assert (carry_warmth_on(weather, record, JUNE, 6.0).rain_mm == weather.rain_mm).all()
