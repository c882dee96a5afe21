from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest

from steepwell.errors import WeatherRecordError
from steepwell_sim.weather.record import (
    Day,
    first_of_unbroken_run,
    read_record,
    refuse_gaps,
    without_years,
    write_record,
)

if TYPE_CHECKING:
    from pathlib import Path

HEAD = "date,rain_mm,tmin_c,tmax_c"


def test_reads_days_in_order_and_passes_over_gaps(tmp_path: Path) -> None:
    path = tmp_path / "record.csv"
    path.write_text(
        f"{HEAD},et0_mm\n1976-06-02,1.5,8,20,3.1\n1976-06-01,0,7.5,19,\n1976-06-03,,8,20,3\n"
    )
    assert read_record(path) == {
        date(1976, 6, 1): Day(0.0, 7.5, 19.0),
        date(1976, 6, 2): Day(1.5, 8.0, 20.0, 3.1),
    }


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("date,rain_mm,tmin_c\n1976-06-01,0,7\n", "lacks the column tmax_c"),
        (f"{HEAD}\n1976-06-01,-1,7,9\n", "Line 2 .* not less than 0"),
        (f"{HEAD}\n1976-06-01,0,9,7\n", "tmin_c is above tmax_c"),
        (f"{HEAD}\n1976-06-41,0,7,9\n", "Line 2"),
        (f"{HEAD}\n", "has no days"),
    ],
)
def test_refuses_what_is_no_record(tmp_path: Path, text: str, message: str) -> None:
    path = tmp_path / "record.csv"
    path.write_text(text)
    with pytest.raises(WeatherRecordError, match=message):
        read_record(path)


def test_refuses_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(WeatherRecordError, match="cannot be read"):
        read_record(tmp_path / "none.csv")


def test_what_is_written_is_read_again(tmp_path: Path) -> None:
    days = {date(2031, 1, 1): Day(0.2, -3.5, 4.0), date(2031, 1, 2): Day(0.0, 1.0, 2.25)}
    write_record(tmp_path / "record.csv", days)
    assert read_record(tmp_path / "record.csv") == days


def test_leaves_out_whole_years() -> None:
    days = {date(year, 12, 31): Day(0, 0, 1) for year in (1975, 1976, 1977)}
    assert list(without_years(days, [1976])) == [date(1975, 12, 31), date(1977, 12, 31)]


def test_goes_back_to_a_gap_and_no_further_than_told() -> None:
    days = {date(1976, 6, day): Day(0, 0, 1) for day in (1, 3, 4, 5)}
    assert first_of_unbroken_run(days, date(1976, 6, 5), at_most=90) == date(1976, 6, 3)
    assert first_of_unbroken_run(days, date(1976, 6, 5), at_most=1) == date(1976, 6, 4)


def test_a_gap_in_the_period_is_refused() -> None:
    days = {date(1976, 6, day): Day(0, 0, 1) for day in (1, 3)}
    with pytest.raises(WeatherRecordError, match="1976-06-02"):
        refuse_gaps(days, date(1976, 6, 1), date(1976, 6, 3))
