"""The weather record as a file: what is read, and what is refused with its line."""

from __future__ import annotations

import os
from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest
from tests.gardens import flat_record

from steepwell.errors import WeatherRecordError
from steepwell.outlook.bridging import Gap
from steepwell.outlook.normals import DailyNormals
from steepwell.outlook.observed import Observed
from steepwell.outlook.record import Record, extend_record, read_record, record_remarks

if TYPE_CHECKING:
    from collections.abc import Container
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
        ("1976-06-02,0,9,24", ["line 3", "1976-06-02", "second time, after line 2"]),
        ("1976-06-03,wet,9,24", ["line 3", "cannot be read"]),
        ("1976-06-03,inf,9,24", ["line 3", "cannot be read"]),
        ("03.06.1976,0,9,24", ["line 3", "cannot be read", "1976-06-01"]),
        ("1976-06-31,0,9,24", ["line 3", "cannot be read"]),
        (",0,9,24", ["line 3", "cannot be read"]),
        ("1976-06-03,0,5,9,0,24,0", ["line 3", "more than 4 values", "a decimal has a point"]),
        ("1976-06-03,-0.2,9,24", ["line 3", "-0.2", "0 or more"]),
        ("1976-06-03,-99.9,9,24", ["line 3", "-99.9", "leave empty what was not measured"]),
        ("1976-06-03,9999,9,24", ["line 3", "9999 mm"]),
        ("1976-06-03,0,-999,24", ["line 3", "-999 °C, wanted -80 to 60"]),
        ("1976-06-03,0,9,99.9", ["line 3", "99.9 °C"]),
        ("1976-06-03,0,24,9", ["line 3", "tmin_c 24", "above tmax_c 9"]),
    ],
)
def test_a_fault_is_named_with_its_line(tmp_path: Path, line: str, words: list[str]) -> None:
    path = written(tmp_path, "1976-06-02,0,9,24", line)
    with pytest.raises(WeatherRecordError) as refused:
        read_record(path)
    assert str(path) in str(refused.value)
    assert all(word in str(refused.value) for word in words)


def test_all_faults_are_named_up_to_ten(tmp_path: Path) -> None:
    bad = [f"1976-06-{day:02d},-1,9,24" for day in range(1, 14)]
    with pytest.raises(WeatherRecordError) as refused:
        read_record(written(tmp_path, "1976-05-31,0,9,24", *bad))
    for line in range(3, 13):
        assert f"line {line}: rain of -1 mm" in str(refused.value)
    assert "line 13" not in str(refused.value)
    assert str(refused.value).endswith("; and 3 more")


@pytest.mark.parametrize("sign", [";", "\t", "|"])
def test_a_file_parted_otherwise_may_have_decimal_commas(tmp_path: Path, sign: str) -> None:
    line = sign.join(["1976-06-02", "0,4", "9", "24,5"])
    record = read_record(written(tmp_path, line, header=HEADER.replace(",", sign)))
    assert (record.rain_mm[0], record.tmin_c[0], record.tmax_c[0]) == (0.4, 9.0, 24.5)
    assert record.read_as == ""


@pytest.mark.parametrize("column", ["date", "rain_mm", "tmin_c", "tmax_c"])
def test_a_missing_column_is_named(tmp_path: Path, column: str) -> None:
    names = [name for name in HEADER.split(",") if name != column]
    header = ",".join(names)
    said = f"line 1: no column {column}; found {', '.join(names)}; wanted {HEADER}"
    with pytest.raises(WeatherRecordError, match=said):
        read_record(written(tmp_path, "1976-06-01,0,9", header=header))


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "no column date, rain_mm, tmin_c, tmax_c"),
        (HEADER.encode(), "no days in it"),
        (b"date,rain_mm\0\n", "cannot be read; wanted a CSV file in UTF-8"),
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


def lines_of(first: date, last: date, *, without: Container[date] = ()) -> list[str]:
    """Return a row a day; the day of the month is rain, its half Tmin, and Tmax 20 °C more."""
    days = [first + timedelta(days=n) for n in range((last - first).days + 1)]
    return [
        f"{day},{day.day},{day.day / 2},{day.day / 2 + 20}" for day in days if day not in without
    ]


def test_a_missing_row_is_filled_in_and_said_with_its_line(tmp_path: Path) -> None:
    lines = lines_of(date(2000, 1, 1), date(2001, 12, 31), without={date(2001, 1, 10)})
    record = read_record(written(tmp_path, *lines))
    # Line 1 is the header, 366 days of 2000 follow, and nine of 2001.
    assert record.bridged == (Gap(date(2001, 1, 10), 1, 377),)
    assert str(record.bridged[0]) == "2001-01-10 (line 377)"
    at = (date(2001, 1, 10) - record.first).days
    # Rain of the year before, and the means of 9 and 11 January.
    assert (record.rain_mm[at], record.tmin_c[at], record.tmax_c[at]) == (10.0, 5.0, 25.0)
    assert np.isnan(record.et0_mm[at])


def test_a_missing_value_is_filled_in_and_the_others_of_its_day_stay(tmp_path: Path) -> None:
    lines = lines_of(date(2000, 1, 1), date(2001, 12, 31))
    lines[375] = "2001-01-10,,5.5,26"
    lines[377] = "2001-01-12,12.5,,3"
    record = read_record(written(tmp_path, *lines))
    assert [str(gap) for gap in record.bridged] == [
        "2001-01-10 (line 377)",
        "2001-01-12 (line 379)",
    ]
    at = (date(2001, 1, 10) - record.first).days
    assert (record.rain_mm[at], record.tmin_c[at], record.tmax_c[at]) == (10.0, 5.5, 26.0)
    # The nights around would have 6 °C, which is more than that day had at noon.
    at += 2
    assert (record.rain_mm[at], record.tmin_c[at], record.tmax_c[at]) == (12.5, 3.0, 3.0)


def test_leap_days_that_a_record_does_not_know_are_filled_in(tmp_path: Path) -> None:
    leap = {date(2000, 2, 29), date(2004, 2, 29)}
    lines = lines_of(date(2000, 1, 1), date(2005, 12, 31), without=leap)
    record = read_record(written(tmp_path, *lines))
    assert {gap.first for gap in record.bridged} == leap
    at = (date(2004, 2, 29) - record.first).days
    # 1 March of another year; between 14 °C on 28 February and 0.5 °C on 1 March.
    assert (record.rain_mm[at], record.tmin_c[at]) == (1.0, 7.25)


def test_a_tenth_of_the_days_is_filled_in_and_no_more(tmp_path: Path) -> None:
    # 1000 days, the first 100 or 101 Mondays of them missing.
    first, last = date(2000, 1, 1), date(2002, 9, 26)
    days = [first + timedelta(days=n) for n in range((last - first).days + 1)]
    assert len(days) == 1000
    mondays = [day for day in days if day.weekday() == 0]
    record = read_record(written(tmp_path, *lines_of(first, last, without=mondays[:100])))
    assert sum(gap.days for gap in record.bridged) == 100
    assert not np.isnan(record.rain_mm + record.tmin_c + record.tmax_c).any()
    path = written(tmp_path, *lines_of(first, last, without=mondays[:101]))
    os.utime(path, ns=(0, path.stat().st_mtime_ns + 1_000_000))
    with pytest.raises(WeatherRecordError) as refused:
        read_record(path)
    assert "101 of 1,000 days are missing, first 2000-01-03 (line 4)" in str(refused.value)
    assert "a tenth at most" in str(refused.value)


def test_years_that_a_record_does_not_have_stay_missing(tmp_path: Path) -> None:
    first, last = date(2000, 1, 1), date(2004, 12, 31)
    years = {date(2001, 1, 1) + timedelta(days=n) for n in range(2 * 365)}
    hole = {date(2000, 6, 1)}
    record = read_record(written(tmp_path, *lines_of(first, last, without=years | hole)))
    assert [gap.first for gap in record.bridged] == [date(2000, 6, 1)]
    assert np.isnan(record.rain_mm).sum() == 2 * 365
    assert record.years == 3


def test_what_was_filled_in_is_said(tmp_path: Path) -> None:
    first, last = date(2000, 1, 1), date(2009, 12, 31)
    whole = read_record(written(tmp_path, *lines_of(first, last)))
    assert record_remarks(whole) == []
    pairs = [date(2000, month, day) for month in range(1, 8) for day in (10, 11)]
    path = tmp_path / "gaps.csv"
    path.write_text("\n".join([HEADER, *lines_of(first, last, without=pairs)]), encoding="utf-8")
    said = (
        "The weather record has 14 missing days filled in: 2000-01-10 to 2000-01-11 (line 11), "
        "2000-02-10 to 2000-02-11 (line 40), 2000-03-10 to 2000-03-11 (line 67), "
        "2000-04-10 to 2000-04-11 (line 96), 2000-05-10 to 2000-05-11 (line 124), "
        "and 2 more gaps."
    )
    assert record_remarks(read_record(path)) == [said]


def test_a_record_that_is_too_short_is_said_to_be() -> None:
    short = flat_record(date(2000, 1, 1), date(2008, 12, 31))
    said = (
        "The weather record has fewer than 10 years: there will be no outlook without monthly "
        "normals or a longer record."
    )
    assert record_remarks(short) == [said]
    usual = np.zeros(366)
    helped = replace(short, normals=DailyNormals(usual, usual, usual, usual))
    assert record_remarks(helped) == [
        "The weather record has fewer than 10 years: the weeks ahead are made from the normals."
    ]


def observed(first: date, *days: tuple[float, float, float]) -> Observed:
    rain, tmin, tmax = (np.array(column) for column in zip(*days, strict=True))
    return Observed(first, rain, tmin, tmax, 0.0, 0)


NAN = float("nan")
UNKNOWN = (NAN, NAN, NAN)


def test_what_the_garden_measured_itself_goes_on_where_the_record_ends() -> None:
    record = flat_record(date(2000, 1, 1), date(2010, 12, 31), rain_mm=1.0)
    own = [(float(n), 5.0 + n, 15.0 + n) for n in range(4)]
    longer = extend_record(record, observed(date(2010, 12, 30), *own))
    assert longer.days == record.days + 2
    # What the record itself has of 30 and 31 December stays.
    assert longer.rain_mm[-4:].tolist() == [1.0, 1.0, 2.0, 3.0]
    assert longer.tmin_c[-2:].tolist() == [7.0, 8.0]
    assert longer.tmax_c[-2:].tolist() == [17.0, 18.0]
    assert np.isnan(longer.et0_mm[-2:]).all()
    assert (longer.years, record.years) == (12, 11)
    assert record.days == 4018


def test_days_that_were_not_wholly_observed_are_no_part_of_the_record() -> None:
    record = flat_record(date(2000, 1, 1), date(2010, 12, 31))
    own = [(1.0, 5.0, 15.0), *[(1.0, NAN, NAN)] * 4, (2.0, 6.0, 16.0), (NAN, 6.0, 16.0)]
    longer = extend_record(record, observed(date(2011, 1, 1), *own))
    np.testing.assert_array_equal(longer.rain_mm[-6:], [1.0, *[NAN] * 4, 2.0])
    np.testing.assert_array_equal(longer.tmin_c[-6:], [5.0, *[NAN] * 4, 6.0])
    assert longer.bridged == ()


def test_up_to_three_days_that_were_not_observed_are_filled_in() -> None:
    record = flat_record(date(2000, 1, 1), date(2010, 12, 31), rain_mm=4.0)
    own = [(1.0, 4.0, 14.0), *[UNKNOWN] * 3, (2.0, 8.0, 18.0)]
    longer = extend_record(record, observed(date(2011, 1, 1), *own))
    assert longer.rain_mm[-5:].tolist() == [1.0, 4.0, 4.0, 4.0, 2.0]
    assert longer.tmin_c[-5:] == pytest.approx([4.0, 5.0, 6.0, 7.0, 8.0])
    assert longer.bridged == (Gap(date(2011, 1, 2), 3),)


@pytest.mark.parametrize(
    ("first", "days"),
    [
        (date(2011, 1, 1), [UNKNOWN] * 3),
        (date(2010, 12, 1), [(1.0, 2.0, 3.0)] * 31),
    ],
)
def test_with_nothing_new_the_record_is_the_same_one(
    first: date, days: list[tuple[float, float, float]]
) -> None:
    record = flat_record(date(2000, 1, 1), date(2010, 12, 31))
    assert extend_record(record, observed(first, *days)) is record


def test_years_between_record_and_station_stay_missing() -> None:
    record = flat_record(date(2000, 1, 1), date(2001, 12, 31))
    longer = extend_record(record, observed(date(2030, 1, 1), *[(1.0, 2.0, 3.0)] * 10))
    assert (longer.years, longer.rain_mm[-1]) == (3, 1.0)
    assert np.isnan(longer.rain_mm).sum() == (date(2030, 1, 1) - date(2002, 1, 1)).days


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


def test_what_is_usual_all_year_is_what_is_usual_on_each_day() -> None:
    draw = np.random.default_rng(3)
    record = flat_record(date(1999, 3, 5), date(2004, 7, 9))
    record.tmin_c[:] = draw.normal(8.0, 4.0, record.days)
    record.tmax_c[:] = draw.normal(18.0, 4.0, record.days)
    record.tmax_c[draw.random(record.days) < 0.3] = np.nan
    year = [date(2000, 1, 1) + timedelta(days=day) for day in range(366)]
    np.testing.assert_allclose(record.usual_c(), [record.normal(day)[1:] for day in year])


def test_years_are_those_with_a_whole_day() -> None:
    record = flat_record(date(2000, 12, 30), date(2003, 1, 2))
    assert record.years == 4
    gap = Record(record.first, record.rain_mm.copy(), record.tmin_c, record.tmax_c, record.et0_mm)
    gap.rain_mm[2 : 2 + 365] = np.nan
    assert gap.years == 3
