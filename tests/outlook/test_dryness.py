"""How dry it has been: runs of dry days, and months of rain against the record."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest
from tests.gardens import GAUGE, flat_record, hourly, make_garden, note, put_readings

from steepwell.outlook.dryness import dryness

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from tests.gardens import Json, Open

    from steepwell.outlook.record import Record

NOW = datetime(2021, 8, 1, 9, tzinfo=UTC)
TODAY = NOW.date()
DAY = timedelta(days=1)

# Totals of July in thirty years, and SPI of some of them with gamma by Thom and the share of years
# without rain in a class of its own, computed with climate-indices 3.1.0.
JULYS = (
    *(62.4, 18.7, 45.1, 0, 88.9, 33.2, 51.6, 12.3, 104.5, 70.8),
    *(27.9, 39.4, 5.6, 58.0, 81.2, 22.1, 47.7, 0, 66.3, 95.4),
    *(30.5, 14.8, 53.9, 76.1, 41.0, 9.7, 36.8, 60.2, 120.6, 25.3),
)
SPI_OF = {9.7: -1.2629, 0.0: -1.5011, 120.6: 1.8240}


def july_record(totals: Sequence[float] = JULYS, last_year: int = 2020) -> Record:
    """Return a record of which each year has its rain on 31 July."""
    record = flat_record(date(last_year - len(totals) + 1, 1, 1), date(last_year, 12, 31))
    for year, total_mm in enumerate(totals, start=record.first.year):
        record.rain_mm[(date(year, 7, 31) - record.first).days] = total_mm
    return record


def dry_for(
    tmp_path: Path, opened: Open, record: Record, falls: dict[date, float], now: datetime = NOW
) -> Json | None:
    """Return how dry it is where a gauge heard every hour of half a year saw some days of rain."""
    garden = make_garden(tmp_path, sensor=[GAUGE])
    store = opened(garden)
    first = datetime(2021, 1, 1, tzinfo=UTC)
    hours = round((now - first) / timedelta(hours=1))
    counted, total_mm = {}, 0.0
    for hour in hourly(first, hours, 0.0):
        total_mm += falls.get(hour.date(), 0.0) if hour.hour == 12 else 0.0
        counted[hour] = total_mm
    put_readings(store, "gauge", counted)
    return dryness(garden, store, record, store.journal.entries(now), now)


@pytest.mark.parametrize("july_mm", SPI_OF)
def test_a_months_rain_is_compared_with_the_record(
    tmp_path: Path, opened: Open, july_mm: float
) -> None:
    dry = dry_for(tmp_path, opened, july_record(), {TODAY - 5 * DAY: july_mm})
    assert dry is not None
    month = dry["rain"][0]
    assert month["spi"] == pytest.approx(SPI_OF[july_mm], abs=0.006)
    assert month["rain_mm"] == pytest.approx(july_mm)
    assert month["usual_mm"] == pytest.approx(float(np.median(JULYS)), abs=0.05)


def test_the_last_drier_year_is_named(tmp_path: Path, opened: Open) -> None:
    # Of the Julys before 2021, counted back: 25.3, 120.6, 60.2, 36.8 and 9.7 in 2016.
    dry = dry_for(tmp_path, opened, july_record(), {TODAY - 5 * DAY: 11.0})
    assert dry is not None
    assert [each["driest_since"] for each in dry["rain"]] == [2016, 2016, 2016]
    assert [each["months"] for each in dry["rain"]] == [1, 3, 6]
    assert dry["rain"][0]["wetness"] == "moderately dry"


def test_no_year_is_named_across_years_that_are_not_known(tmp_path: Path, opened: Open) -> None:
    record = july_record(last_year=2015)
    dry = dry_for(tmp_path, opened, record, {TODAY - 5 * DAY: 11.0})
    assert dry is not None
    assert dry["rain"][0]["driest_since"] is None
    assert dry["rain"][0]["spi"] is not None


@pytest.mark.parametrize(("years", "told"), [(20, True), (19, False)])
def test_an_index_needs_twenty_years(
    tmp_path: Path, opened: Open, years: int, *, told: bool
) -> None:
    dry = dry_for(tmp_path, opened, july_record(JULYS[:years]), {TODAY - 5 * DAY: 11.0})
    assert dry is not None
    assert (dry["rain"][0]["spi"] is not None) is told


def test_where_it_never_rains_there_is_no_index(tmp_path: Path, opened: Open) -> None:
    dry = dry_for(tmp_path, opened, july_record([0.0] * 30), {})
    assert dry is not None
    assert dry["rain"][0]["spi"] is None


def test_days_without_rain_are_counted_up_to_yesterday(tmp_path: Path, opened: Open) -> None:
    # 0.9 mm end a drought, whose days have less than 0.2 mm, and no dry spell, of less than 1 mm.
    falls = {TODAY - 30 * DAY: 1.0, TODAY - 9 * DAY: 0.9, TODAY - 4 * DAY: 0.1, TODAY: 5.0}
    dry = dry_for(tmp_path, opened, july_record(), falls)
    assert dry is not None
    assert (dry["days_below_1_mm"], dry["days_below_0_2_mm"]) == (29, 8)
    # From 31 January, half a year back, to 1 July.
    assert dry["longest_dry_run_d"] == (date(2021, 7, 2) - date(2021, 1, 31)).days


def test_rain_of_yesterday_ends_what_was_dry(tmp_path: Path, opened: Open) -> None:
    dry = dry_for(tmp_path, opened, july_record(), {TODAY - DAY: 1.0})
    assert dry is not None
    assert (dry["days_below_1_mm"], dry["days_below_0_2_mm"]) == (0, 0)


def test_without_a_gauge_nothing_is_said(tmp_path: Path, opened: Open) -> None:
    garden = make_garden(tmp_path)
    store = opened(garden)
    assert dryness(garden, store, july_record(), [], NOW) is None


def test_a_gauge_read_by_hand_will_do(tmp_path: Path, opened: Open) -> None:
    garden = make_garden(tmp_path)
    store = opened(garden)
    for days, mm in ((20, 3.0), (1, 0.5)):
        note(store, garden, NOW - days * DAY, "rain-read", mm=mm)
    dry = dryness(garden, store, july_record(), store.journal.entries(NOW), NOW)
    assert dry is not None
    assert dry["days_below_1_mm"] == 19
    # What fell before the first reading is not known.
    assert dry["rain"] == []
