"""The weather record as a file: what is read, and what is refused with its line."""

from __future__ import annotations

import os
from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import pytest
from tests.gardens import flat_record

from steepwell.errors import WeatherRecordError
from steepwell.outlook.bridging import same_day
from steepwell.outlook.record import Record, read_record

if TYPE_CHECKING:
    from pathlib import Path

HEADER = "date,rain_mm,tmin_c,tmax_c"


def written(folder: Path, *lines: str, header: str = HEADER) -> Path:
    path = folder / "weather.csv"
    path.write_text("\n".join([header, *lines, ""]), encoding="utf-8")
    return path


def test_a_record_is_read_day_by_day(tmp_path: Path) -> None:
    record = read_record(written(tmp_path, "1976-06-01,0,9.5,24", "1976-06-02,1.25,-0.5,18.5"))
    assert record.first == date(1976, 6, 1)
    assert (record.days, record.years) == (2, 1)
    assert record.rain_mm.tolist() == [0.0, 1.25]
    assert record.tmin_c.tolist() == [9.5, -0.5]
    assert record.tmax_c.tolist() == [24.0, 18.5]
    assert np.isnan(record.et0_mm).all()


def test_columns_may_come_in_any_order_with_more_of_them(tmp_path: Path) -> None:
    header = "station,et0_mm,tmax_c,tmin_c,date,rain_mm"
    record = read_record(written(tmp_path, "7,3.8,21.5,12.3,1976-07-06,0.4", header=header))
    assert record.et0_mm.tolist() == [3.8]
    assert (record.rain_mm[0], record.tmin_c[0], record.tmax_c[0]) == (0.4, 12.3, 21.5)


def test_a_file_that_begins_with_a_byte_order_mark_is_read(tmp_path: Path) -> None:
    path = tmp_path / "weather.csv"
    path.write_text(f"{HEADER}\n1976-06-01,0,9,24\n", encoding="utf-8-sig")
    assert read_record(path).days == 1


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("1976-06-02,0,9,24", ["line 3", "1976-06-02", "second time"]),
        ("1976-06-03,wet,9,24", ["line 3", "cannot be read"]),
        ("1976-06-03,inf,9,24", ["line 3", "cannot be read"]),
        ("03.06.1976,0,9,24", ["line 3", "cannot be read", "1976-06-01"]),
        ("1976-06-31,0,9,24", ["line 3", "cannot be read"]),
        (",0,9,24", ["line 3", "cannot be read"]),
        ("1976-06-03,-0.2,9,24", ["line 3", "-0.2", "0 or more"]),
        ("1976-06-03,0,24,9", ["line 3", "tmin_c 24", "above tmax_c 9"]),
    ],
)
def test_a_fault_is_named_with_its_line(tmp_path: Path, line: str, words: list[str]) -> None:
    path = written(tmp_path, "1976-06-02,0,9,24", line)
    with pytest.raises(WeatherRecordError) as refused:
        read_record(path)
    assert str(path) in str(refused.value)
    assert all(word in str(refused.value) for word in words)


@pytest.mark.parametrize("column", ["date", "rain_mm", "tmin_c", "tmax_c"])
def test_a_missing_column_is_named(tmp_path: Path, column: str) -> None:
    header = ",".join(name for name in HEADER.split(",") if name != column)
    with pytest.raises(WeatherRecordError, match=f"line 1: no column {column}; wanted {HEADER}"):
        read_record(written(tmp_path, "1976-06-01,0,9", header=header))


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "no column date, rain_mm, tmin_c, tmax_c"),
        (HEADER.encode(), "no days in it"),
        (b"date,rain_mm\xe9\n", "cannot be read; wanted a CSV file in UTF-8"),
    ],
)
def test_a_file_without_days_is_refused(tmp_path: Path, content: bytes, words: str) -> None:
    path = tmp_path / "weather.csv"
    path.write_bytes(content)
    with pytest.raises(WeatherRecordError, match=words):
        read_record(path)


def test_a_file_that_is_not_there_is_refused_with_what_to_do(tmp_path: Path) -> None:
    with pytest.raises(WeatherRecordError, match="no weather record there; name one under"):
        read_record(tmp_path / "weather.csv")


def test_a_folder_is_no_record(tmp_path: Path) -> None:
    with pytest.raises(WeatherRecordError, match="wanted a CSV file"):
        read_record(tmp_path)


def test_a_record_is_read_anew_when_its_file_has_changed(tmp_path: Path) -> None:
    path = written(tmp_path, "1976-06-01,1,9,24")
    first = read_record(path)
    assert read_record(path) is first
    written(tmp_path, "1976-06-01,2,9,24")
    os.utime(path, ns=(0, path.stat().st_mtime_ns + 1_000_000))
    assert read_record(path).rain_mm.tolist() == [2.0]


@pytest.mark.parametrize(
    ("day", "year", "expected"),
    [
        (date(2031, 6, 1), 1976, date(1976, 6, 1)),
        (date(2031, 12, 31), 1976, date(1976, 12, 31)),
        # 1976 and 2000 were leap years, 1900 and 1977 were not.
        (date(2032, 2, 29), 1976, date(1976, 2, 29)),
        (date(2032, 2, 29), 2000, date(2000, 2, 29)),
        (date(2032, 2, 29), 1977, date(1977, 3, 1)),
        (date(2032, 2, 29), 1900, date(1900, 3, 1)),
    ],
)
def test_the_same_day_of_another_year(day: date, year: int, expected: date) -> None:
    assert same_day(day, year) == expected


def test_what_is_usual_is_the_mean_of_a_week_on_both_sides() -> None:
    record = flat_record(date(2000, 1, 1), date(2001, 12, 31), rain_mm=1.0, tmin_c=5.0, tmax_c=15.0)
    tenth = (date(2000, 6, 10) - record.first).days
    record.rain_mm[tenth] = 31.0
    # 15 days in each of two years, 30 mm more on one of them: 1 + 30/30 = 2 mm.
    assert record.normal(date(2031, 6, 3)) == pytest.approx((2.0, 5.0, 15.0))
    assert record.normal(date(2031, 6, 17)) == pytest.approx((2.0, 5.0, 15.0))
    assert record.normal(date(2031, 6, 2)) == pytest.approx((1.0, 5.0, 15.0))
    assert record.normal(date(2031, 6, 18)) == pytest.approx((1.0, 5.0, 15.0))


def test_what_is_usual_passes_over_gaps() -> None:
    record = flat_record(date(2000, 1, 1), date(2001, 12, 31), rain_mm=4.0)
    record.rain_mm[: 366 - 30] = np.nan
    record.tmin_c[:] = np.nan
    rain, tmin, tmax = record.normal(date(2031, 6, 1))
    assert (rain, tmax) == (4.0, 20.0)
    assert np.isnan(tmin)


def test_years_are_those_with_a_whole_day() -> None:
    record = flat_record(date(2000, 12, 30), date(2003, 1, 2))
    assert record.years == 4
    gap = Record(record.first, record.rain_mm.copy(), record.tmin_c, record.tmax_c, record.et0_mm)
    gap.rain_mm[2 : 2 + 365] = np.nan
    assert gap.years == 3
