from __future__ import annotations

from statistics import mean
from typing import TYPE_CHECKING

from steepwell_sim.weather.invent import (
    DRY_SUMMER_EVERY,
    RECORD_YEARS,
    invent_years,
    write_invented,
)
from steepwell_sim.weather.record import read_record

if TYPE_CHECKING:
    from pathlib import Path


def test_equal_seeds_give_equal_weather() -> None:
    assert invent_years(2030, 2030, seed=3) == invent_years(2030, 2030, seed=3)
    assert invent_years(2030, 2030, seed=3) != invent_years(2030, 2030, seed=4)


def test_the_climate_is_that_of_a_mild_lowland() -> None:
    days = invent_years(2001, 2030, seed=1)
    rain_mm = sum(day.rain_mm for day in days.values()) / 30
    july_c = mean((d.tmin_c + d.tmax_c) / 2 for when, d in days.items() if when.month == 7)
    january_c = mean((d.tmin_c + d.tmax_c) / 2 for when, d in days.items() if when.month == 1)
    # Common knowledge of lowlands in north-west Europe: 600 to 900 mm, 3 °C in January, 18 in July.
    assert 600 < rain_mm < 900
    assert 1.5 < january_c < 5
    assert 16 < july_c < 20
    assert all(day.tmin_c <= day.tmax_c for day in days.values())


def test_a_dry_summer_is_as_dry_as_few_of_the_record(tmp_path: Path) -> None:
    record, year = write_invented(tmp_path / "new", summer=2031, seed=1)

    def summers(days_path: Path) -> dict[int, float]:
        rain: dict[int, float] = {}
        for when, day in read_record(days_path).items():
            if 6 <= when.month <= 8:
                rain[when.year] = rain.get(when.year, 0.0) + day.rain_mm
        return rain

    usual = summers(record)
    assert len(usual) == RECORD_YEARS
    dry = {year for year in usual if (2031 - year) % DRY_SUMMER_EVERY == 0}
    driest_usual_mm = min(rain for year, rain in usual.items() if year not in dry)
    assert all(usual[year] < driest_usual_mm for year in dry)
    assert summers(year)[2031] < driest_usual_mm
