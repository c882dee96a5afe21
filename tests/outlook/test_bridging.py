"""Gaps of a record: which year they are filled from, and what stays as it is."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from steepwell.outlook.bridging import Gap, bridge, gaps, same_day

NAN = float("nan")
FIRST = date(2001, 1, 1)
YEARS_D = 3 * 365


def three_years() -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    """Return rain, Tmin and Tmax that tell the year: 10, 20 and 30 mm, -10, -20 and -30 °C."""
    year = np.repeat([10.0, 20.0, 30.0], 365)
    return np.array([year, -year, year + 1])


def test_gaps_are_runs_of_days_shorter_than_a_year() -> None:
    lacking = np.zeros(1000, dtype=bool)
    lacking[[0, 5, 6, 999]] = True
    lacking[10:374] = True
    lacking[400:765] = True
    assert list(gaps(lacking, FIRST)) == [
        Gap(date(2001, 1, 1), 1),
        Gap(date(2001, 1, 6), 2),
        Gap(date(2001, 1, 11), 364),
        Gap(date(2003, 9, 27), 1),
    ]


@pytest.mark.parametrize(
    ("gap", "words"),
    [
        (Gap(date(2001, 1, 6), 1), "2001-01-06"),
        (Gap(date(2001, 1, 30), 3), "2001-01-30 to 2001-02-01"),
        (Gap(date(2001, 1, 6), 2, 7), "2001-01-06 to 2001-01-07 (line 7)"),
    ],
)
def test_a_gap_in_words(gap: Gap, words: str) -> None:
    assert str(gap) == words


@pytest.mark.parametrize(
    ("year", "also", "source"),
    # The nearest year that has the days, the earlier of two as near.
    [(2001, None, 20.0), (2002, None, 10.0), (2003, None, 20.0), (2003, 2002, 10.0)],
)
def test_a_long_gap_is_filled_from_the_nearest_year(
    year: int, also: int | None, source: float
) -> None:
    columns = three_years()
    for lacking in (year, also):
        if lacking is not None:
            at = (date(lacking, 6, 1) - FIRST).days
            columns[:, at : at + 20] = NAN
    gap = Gap(date(year, 6, 1), 20)
    assert bridge(FIRST, columns, [gap]) == [gap]
    at = (gap.first - FIRST).days
    assert columns[0, at : at + 20].tolist() == [source] * 20
    assert columns[1, at : at + 20].tolist() == [-source] * 20
    assert columns[2, at : at + 20].tolist() == [source + 1] * 20


@pytest.mark.parametrize("days", [1, 2, 3])
def test_temperatures_of_a_short_gap_lie_between_its_neighbours(days: int) -> None:
    columns = three_years()
    columns[1:, 200] = 2.0, 12.0
    columns[1:, 201 + days] = 10.0, 28.0
    columns[:, 201 : 201 + days] = NAN
    bridge(FIRST, columns, [Gap(date(2001, 7, 21), days)])
    tmin = {1: [6.0], 2: [2 + 8 / 3, 2 + 16 / 3], 3: [4.0, 6.0, 8.0]}[days]
    assert columns[1, 201 : 201 + days] == pytest.approx(tmin)
    assert columns[2, 201 : 201 + days] == pytest.approx([2 * low + 8 for low in tmin])
    assert columns[0, 201 : 201 + days].tolist() == [20.0] * days


def test_a_short_gap_at_the_end_is_filled_from_another_year() -> None:
    columns = three_years()
    columns[:, -1] = NAN
    bridge(FIRST, columns, [Gap(date(2003, 12, 31), 1)])
    assert columns[:, -1].tolist() == [20.0, -20.0, 21.0]


def test_a_gap_that_no_other_year_can_fill_stays() -> None:
    columns = three_years()[:, :365]
    columns[:, 100] = NAN
    assert bridge(FIRST, columns, [Gap(date(2001, 4, 11), 1)]) == []
    assert np.isnan(columns[:, 100]).all()


def test_a_filled_extreme_never_passes_the_known_one() -> None:
    columns = three_years()
    columns[1:, 100], columns[1:, 102] = (4.0, 9.0), (6.0, 11.0)
    columns[:, 101] = 0.0, NAN, 2.0
    bridge(FIRST, columns, [Gap(date(2001, 4, 12), 1)])
    assert columns[:, 101].tolist() == [0.0, 2.0, 2.0]
    columns[:, 101] = 0.0, 14.0, NAN
    bridge(FIRST, columns, [Gap(date(2001, 4, 12), 1)])
    assert columns[:, 101].tolist() == [0.0, 14.0, 14.0]


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
