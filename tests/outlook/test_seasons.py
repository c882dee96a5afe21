"""Every season on record, in its own weather and through the model."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest
from tests.gardens import SITE, flat_record, make_garden

from steepwell.garden.load import load_garden
from steepwell.garden.tables import config_dir
from steepwell.outlook.record import Record, read_record
from steepwell.outlook.seasons import MADE_YEARS, SEASON_D, run_seasons, seasons_from, seasons_of
from steepwell.outlook.weather import known_weather

if TYPE_CHECKING:
    from pathlib import Path

NORMALS = {
    "rain_mm": [50] * 12,
    "wet_days": [10] * 12,
    "tmin_c": [8] * 12,
    "tmax_c": [17] * 12,
}


def numbered(first: date, last: date) -> Record:
    """Return a record that has the running number of a day as its rain and temperatures."""
    days = np.arange((last - first).days + 1, dtype=float)
    return Record(first, days, days.copy(), days.copy(), np.full(len(days), np.nan))


def test_each_season_is_that_of_its_year() -> None:
    record = numbered(date(2000, 1, 1), date(2010, 12, 31))
    seasons = seasons_of(make_garden(), record)
    assert seasons is not None
    assert seasons.years == tuple(range(2000, 2011))
    for column, year in enumerate(seasons.years):
        begin = (date(year, 3, 1) - record.first).days
        expected = np.arange(begin, begin + SEASON_D)
        np.testing.assert_array_equal(seasons.weather.rain_mm[:, column], expected)
        np.testing.assert_array_equal(seasons.weather.mean_c[:, column], expected)
    assert seasons.first + timedelta(days=SEASON_D - 1) == date(2010, 10, 31)


def test_a_year_that_lacks_a_day_of_the_season_is_left_out() -> None:
    record = numbered(date(2000, 1, 1), date(2003, 12, 31))
    record.tmin_c[(date(2001, 6, 3) - record.first).days] = np.nan
    record.rain_mm[(date(2002, 12, 3) - record.first).days] = np.nan
    seasons = seasons_of(make_garden(), record)
    assert seasons is not None
    assert seasons.years == (2000, 2002, 2003)


def test_a_season_that_the_record_ends_in_is_left_out() -> None:
    seasons = seasons_of(make_garden(), numbered(date(2000, 4, 1), date(2002, 10, 30)))
    assert seasons is not None
    assert seasons.years == (2001,)


def test_spring_comes_in_september_south_of_the_equator() -> None:
    garden = make_garden(garden={**SITE, "latitude": -37.0})
    seasons = seasons_of(garden, numbered(date(2000, 1, 1), date(2003, 12, 31)))
    assert seasons is not None
    assert seasons.years == (2000, 2001, 2002)
    assert seasons.first == date(2002, 9, 1)


def test_without_a_whole_season_years_are_made_from_the_normals() -> None:
    garden = make_garden(weather_record={"normals": NORMALS})
    record = known_weather(garden)
    assert record is not None
    seasons = seasons_of(garden, record)
    assert seasons is not None
    assert (seasons.years, seasons.count) == ((), MADE_YEARS)
    assert seasons.weather.rain_mm.shape == (SEASON_D, MADE_YEARS)
    again = seasons_of(garden, record)
    assert again is not None
    np.testing.assert_array_equal(again.weather.rain_mm, seasons.weather.rain_mm)


def test_without_a_whole_season_or_normals_there_is_none() -> None:
    assert seasons_of(make_garden(), numbered(date(2000, 6, 1), date(2001, 5, 1))) is None


@pytest.mark.parametrize("name", ["small", "middle", "large", "roomy"])
def test_no_water_is_made_or_lost_in_a_season(name: str, brussels_csv: Path) -> None:
    garden = load_garden(config_dir() / "gardens" / f"{name}.toml")
    garden = garden.model_copy(update={"vessel": ()})
    seasons = seasons_of(garden, read_record(brussels_csv))
    assert seasons is not None
    run = run_seasons(garden, seasons.first, seasons.weather, every_d=7)
    rain = seasons.weather.rain_mm
    # A millimetre on a square metre is a litre.
    into = sum(
        roof.area
        * roof.share
        * roof.runoff
        * roof.filter_efficiency
        * np.maximum(rain - roof.wetting_loss, 0.0).sum(axis=0)
        for roof in garden.roof
    )
    out = run.volume_l[-1].sum(axis=0) + (run.given_l + run.spilled_l).sum(axis=0)
    np.testing.assert_allclose(garden.capacity_l + into, out, rtol=0.0, atol=1e-6)


@pytest.mark.parametrize(("every_d", "evenings"), [(1, [5, 6, 7, 8]), (3, [6, 9])])
def test_the_gardener_goes_round_every_so_many_days(every_d: int, evenings: list[int]) -> None:
    # At 4.05 mm a day 0.35 + 0.04 (5 - 4.25) of 52 mm are readily there (FAO-56, p. 162), 19.8 mm.
    # A bed in full growth draws 1.2 x 4.05 while its surface is wet, for two days and a half, then
    # less, but 0.95 x 4.05 at least: 19.4 mm at most in four days, 21.2 mm at least in five.
    garden = make_garden(butt=[{"name": "north", "litres": "9000 L"}])
    seasons = seasons_from(garden, flat_record(), date(2000, 7, 1), 9)
    run = run_seasons(garden, seasons.first, seasons.weather, every_d=every_d)
    told = np.flatnonzero(run.wanted_l[:, 0] > 0.0) + 1
    assert told[: len(evenings)].tolist() == evenings
