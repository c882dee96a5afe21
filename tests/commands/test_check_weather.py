"""What ``steepwell check`` says of a weather record."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import pytest
from tests.gardens import flat_record, make_garden, write_record

from steepwell.screens import check_report

if TYPE_CHECKING:
    from pathlib import Path

ROOF = {"name": "shed", "area": "6 m2", "into": "north"}
NORMALS = {
    "rain_mm": [60] * 12,
    "wet_days": [10] * 12,
    "tmin_c": [6] * 12,
    "tmax_c": [16] * 12,
}


def remarks(folder: Path, **said: object) -> list[str]:
    garden = make_garden(folder, weather_record=said, roof=[ROOF])
    found: list[str] = check_report(garden)["remarks"]
    return found


def test_normals_alone_are_no_matter_for_a_remark(tmp_path: Path) -> None:
    assert remarks(tmp_path, normals=NORMALS) == []


def test_days_that_were_filled_in_are_said(tmp_path: Path) -> None:
    record = flat_record()
    record.rain_mm[40] = np.nan
    write_record(tmp_path / "weather.csv", record)
    said = "The weather record has 1 missing day filled in: 2000-02-10 (line 42)."
    assert remarks(tmp_path, daily="weather.csv") == [said]


@pytest.mark.parametrize(
    ("normals", "words"), [(None, "there will be no outlook without"), (NORMALS, "are made from")]
)
def test_a_short_record_is_said_to_be(tmp_path: Path, normals: object, words: str) -> None:
    write_record(tmp_path / "weather.csv", flat_record(last=date(2004, 12, 31)))
    (said,) = remarks(tmp_path, daily="weather.csv", normals=normals)
    assert "fewer than 10 years" in said
    assert words in said


def test_a_record_that_cannot_be_used_is_said_with_its_line(tmp_path: Path) -> None:
    text = "date,rain_mm,tmin_c,tmax_c\n2000-01-01,-1,2,3\n"
    (tmp_path / "weather.csv").write_text(text, encoding="utf-8")
    (said,) = remarks(tmp_path, daily="weather.csv")
    assert said.startswith("There will be no outlook: ")
    assert "weather.csv: line 2: rain of -1 mm" in said


FORECAST = {"date": "/day", "rain": "/rain", "tmin": "/low", "tmax": "/high"}


@pytest.mark.parametrize(
    ("where", "count"),
    [({"topic": "plum-lane/forecast"}, 1), ({"url": "http://127.0.0.1/days.json"}, 0)],
)
def test_a_forecast_that_nobody_carries_is_said(
    tmp_path: Path, where: dict[str, str], count: int
) -> None:
    record = {"normals": NORMALS}
    garden = make_garden(
        tmp_path, weather_record=record, roof=[ROOF], forecast={**FORECAST, **where}
    )
    said = "The [forecast] has a topic and there is no [broker]: it is not heard."
    assert check_report(garden)["remarks"].count(said) == count
