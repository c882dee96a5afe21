from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest

from steepwell.clock import to_ms
from steepwell.garden.load import garden_from
from steepwell.store.arrivals import Batch
from steepwell.store.store import open_store

if TYPE_CHECKING:
    from steepwell.store.rows import Row
    from steepwell.store.store import Store

START = datetime(2031, 6, 1, tzinfo=UTC)


def at(hours: float) -> datetime:
    return START + timedelta(hours=hours)


def write(store: Store, *points: tuple[float, float]) -> None:
    number = store.readings.ids["gauge"]
    rows: list[Row] = [(to_ms(at(hours)), number, mm, 1, None) for hours, mm in points]
    store.readings.write(Batch(timed=rows, origins=[(0, "", b"")] * len(rows)))


# Counters of 8, 10, 12, 16 and 32 bits: one tip of 0.2 mm more than the top holds is nothing.
@pytest.mark.parametrize("bits", [8, 10, 12, 16, 32])
def test_a_counter_that_goes_over_the_top_goes_on(
    url: str, declared: dict[str, Any], bits: int
) -> None:
    gauge = {**declared["sensor"][0], "counts": "tips since start", "tip": "0.2 mm"}
    garden = garden_from({**declared, "sensor": [gauge]})
    with open_store(url, garden) as store:
        write(store, (0.5, (2**bits - 3) * 0.2), (1.5, 2 * 0.2))
        ((_, before), (_, after)) = store.readings.hourly_rise("gauge", START, at(5))
    assert before == 0.0
    assert after == pytest.approx(5 * 0.2, abs=1e-6)


@pytest.mark.parametrize(
    ("points", "rain_mm"),
    [
        # Far from the top it was a restart, and near it too where it cannot have rained so much.
        ([(0.5, 200 * 0.2), (1.5, 2 * 0.2)], 0.4),
        ([(0.5, 62_000 * 0.2), (1.5, 2 * 0.2)], 0.4),
        # A counter that is away for a day tells all of it when it comes back.
        ([(0.5, 10 * 0.2), (4.5, 60 * 0.2)], 10.0),
    ],
)
def test_a_counter_that_starts_anew_tells_what_it_counted_since(
    url: str, declared: dict[str, Any], points: list[tuple[float, float]], rain_mm: float
) -> None:
    gauge = {**declared["sensor"][0], "counts": "tips since start", "tip": "0.2 mm"}
    with open_store(url, garden_from({**declared, "sensor": [gauge]})) as store:
        write(store, *points)
        rises = store.readings.hourly_rise("gauge", START, at(5))
    assert rises[-1][1] == pytest.approx(rain_mm)


def test_rain_told_with_each_message_is_summed(url: str, declared: dict[str, Any]) -> None:
    gauge = {**declared["sensor"][0], "counts": "mm since last message"}
    with open_store(url, garden_from({**declared, "sensor": [gauge]})) as store:
        write(store, (0.2, 0.4), (0.6, 0.0), (1.1, 1.2), (-0.5, 7.0))
        rises = store.readings.hourly_rise("gauge", START, at(5))
    assert [mm for _, mm in rises] == pytest.approx([0.4, 1.2])


# Duchon, Fiebrich and Grimsley (2014), abstract: of 175.2 mm/h 8.78 % are lost (8.6 % by their
# 0.450 s and a tip of 0.254 mm).
def test_what_a_bucket_lost_in_heavy_rain_is_put_back_if_asked(
    url: str, declared: dict[str, Any]
) -> None:
    gauge = {
        **declared["sensor"][0],
        "counts": "tips since start",
        "tip": "0.254 mm",
        "heavy_rain_corrected": True,
    }
    fell_mm, minutes = 175.2 / 12, 5
    counted_mm = fell_mm * (1 - 0.0878)
    with open_store(url, garden_from({**declared, "sensor": [gauge]})) as store:
        write(store, (0.1, 0.0), (0.1 + minutes / 60, counted_mm), (0.9, counted_mm))
        ((_, rain_mm),) = store.readings.hourly_rise("gauge", START, at(5))
    assert rain_mm == pytest.approx(fell_mm, rel=0.011)
