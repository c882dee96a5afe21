"""Places, and the climates that are shipped against the records they were computed from."""

from __future__ import annotations

import csv
from collections import defaultdict
from datetime import date
from typing import TYPE_CHECKING

import pytest

from steepwell.garden.weather import MONTHS
from steepwell.setup.places import (
    Place,
    climates,
    distance_km,
    nearest_climate,
    place_of_zone,
    zone_of_machine,
)

if TYPE_CHECKING:
    from pathlib import Path


def test_no_shipped_normal_is_impossible() -> None:
    assert [list(climate.normals.impossible()) for climate in climates().values()] == [[], []]


@pytest.mark.parametrize("name", ["brussels", "cambridge"])
def test_shipped_normals_are_those_of_the_record(name: str, record_paths: dict[str, Path]) -> None:
    days: dict[tuple[int, int], list[tuple[float, ...]]] = defaultdict(list)
    with record_paths[name].open(encoding="utf-8") as file:
        for row in csv.DictReader(file):
            day = date.fromisoformat(row["date"])
            values = tuple(float(row[key]) for key in ("rain_mm", "tmin_c", "tmax_c"))
            days[day.year, day.month].append(values)
    years = sorted({year for year, _ in days})
    climate = climates()[name]
    assert f"{years[0]} to {years[-1]}" in climate.source
    for month in range(len(MONTHS)):
        whole = [days[year, month + 1] for year in years]
        rain = sum(sum(rain for rain, _, _ in one) for one in whole) / len(years)
        wet = sum(sum(rain >= 1.0 for rain, _, _ in one) for one in whole) / len(years)
        low = sum(sum(low for _, low, _ in one) / len(one) for one in whole) / len(years)
        high = sum(sum(high for _, _, high in one) / len(one) for one in whole) / len(years)
        assert climate.rain_mm[month] == pytest.approx(rain, abs=0.51)
        assert climate.wet_days[month] == pytest.approx(wet, abs=0.051)
        assert climate.tmin_c[month] == pytest.approx(low, abs=0.051)
        assert climate.tmax_c[month] == pytest.approx(high, abs=0.051)


# London to Brussels is 321 km, London to Kathmandu 7,300 km, from memory of airline tables.
@pytest.mark.parametrize(
    ("one", "other", "km", "near"),
    [
        (Place(51.51, -0.13), Place(50.85, 4.35), 321, 5),
        (Place(51.51, -0.13), Place(27.72, 85.32), 7_300, 100),
        (Place(10, 179), Place(10, -179), 219, 2),
    ],
)
def test_distance(one: Place, other: Place, km: float, near: float) -> None:
    assert distance_km(one, other) == pytest.approx(km, abs=near)


def test_the_nearest_climate() -> None:
    assert nearest_climate(Place(50.85, 4.35))[0] == "brussels"
    assert nearest_climate(Place(52.2, -2.1))[0] == "cambridge"


# Auckland 36°52' S 174°46' E, New York 40°43' N 74°00' W, as the time zone table has them.
@pytest.mark.parametrize(
    ("zone", "place"),
    [
        ("Pacific/Auckland", Place(-36.87, 174.77)),
        ("America/New_York", Place(40.71, -74.01)),
        ("Etc/UTC", None),
        ("Nowhere/Else", None),
    ],
)
def test_a_zone_is_named_after_a_town(zone: str, place: Place | None) -> None:
    assert place_of_zone(zone) == place


@pytest.mark.parametrize(
    ("keeps", "zone"), [("Europe/Brussels", "Europe/Brussels"), ("Etc/UTC", "Europe/London")]
)
def test_the_zone_of_the_machine(keeps: str, zone: str, tmp_path: Path) -> None:
    target = tmp_path / "zoneinfo" / keeps
    target.parent.mkdir(parents=True)
    target.touch()
    (tmp_path / "localtime").symlink_to(target)
    assert zone_of_machine(tmp_path / "localtime") == zone
