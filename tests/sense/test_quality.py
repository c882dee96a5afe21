"""The tests of a series, against what another implementation of QARTOD makes of the same series."""

from __future__ import annotations

import math

import pytest

from steepwell.sense.quality import (
    climatological_range,
    counter_spike,
    flat_line,
    flat_since,
    gravest,
    gross_range,
    most_rain_mm,
    rate_of_change,
    spike,
)

# What ioos_qc 3.0.0 (IOOS QARTOD) gives for this series, read every 15 minutes. Its oddities, which
# are not ours, stand beside the flags.
SERIES = [10.0, 10.1, 10.2, 35.0, 10.3, 10.3, 10.3, 10.3, math.nan]
QUARTER_MS = 15 * 60_000
TIMES_MS = [QUARTER_MS * at for at in range(len(SERIES))]
HOUR_MS = 4 * QUARTER_MS


def test_gross_range_as_published() -> None:
    flags = gross_range(SERIES, fail=(-20.0, 60.0), suspect=(0.0, 30.0))
    assert flags == [1, 1, 1, 3, 1, 1, 1, 1, 9]
    # The case in the docstring of that library; a value on the limit still passes.
    assert gross_range([1, 2, 3, 4, 8], fail=(0, 5), suspect=(1, 4)) == [1, 1, 1, 1, 4]


def test_rate_of_change_as_published() -> None:
    # 3 °C in an hour; the return from the spike is as fast as the way there.
    flags = rate_of_change(TIMES_MS, SERIES, at_once=0.0, in_an_hour=3.0)
    assert flags == [1, 1, 1, 3, 3, 1, 1, 1, 9]


def test_flat_line_as_published() -> None:
    flags = flat_line(TIMES_MS, SERIES, suspect_ms=1_800_000, fail_ms=2_700_000, tolerance=0.05)
    assert flags == [1, 1, 1, 1, 1, 1, 3, 4, 9]


def test_a_series_that_never_moves_is_flat_even_without_a_tolerance() -> None:
    # That library asks for a range below the tolerance, so that with 0 nothing is ever flat.
    flags = flat_line(TIMES_MS[:4], [5.0] * 4, suspect_ms=1_800_000, fail_ms=2_700_000)
    assert flags == [1, 1, 3, 4]


def test_spike_as_published_but_for_its_neighbours() -> None:
    flags = spike(TIMES_MS, SERIES, suspect=2.0, fail=5.0)
    # That library holds a value against the mean of its neighbours, and fails those of a spike
    # with it: 2 1 4 4 4 1 1 2 9.
    assert flags == [2, 1, 1, 4, 1, 1, 1, 2, 9]


def test_all_tests_together_as_published_but_for_the_neighbours() -> None:
    together = gravest(
        gross_range(SERIES, fail=(-20.0, 60.0), suspect=(0.0, 30.0)),
        spike(TIMES_MS, SERIES, suspect=2.0, fail=5.0),
        flat_line(TIMES_MS, SERIES, suspect_ms=1_800_000, fail_ms=2_700_000, tolerance=0.05),
    )
    # That library: 1 1 4 4 1 3 4 9, with a 4 more before the spike.
    assert together == [1, 1, 1, 4, 1, 1, 3, 4, 9]


@pytest.mark.parametrize(
    ("flags", "expected"),
    [((9, 2), 2), ((2, 1), 1), ((1, 3), 3), ((3, 4), 4), ((9, 2, 1, 3, 4), 4), ((9, 9), 9)],
)
def test_precedence(flags: tuple[int, ...], expected: int) -> None:
    # Lowest to highest 9, 2, 1, 3, 4: a pass overrides a test that could not be made.
    assert gravest(*[[flag] for flag in flags]) == [expected]


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        # The newest waits for its successor.
        ([10.0, 10.1, 20.0], [2, 1, 2]),
        ([10.0, 10.1, 20.0, 10.0], [2, 1, 4, 2]),
        # A step stays where it went.
        ([10.0, 10.0, 20.0, 20.0], [2, 1, 1, 2]),
        # Up by 3 and down by 12: it left the nearer one by 3.
        ([10.0, 13.0, 1.0], [2, 3, 2]),
        ([10.0, math.nan, 10.0, 10.0], [2, 9, 2, 2]),
        ([10.0], [2]),
        ([], []),
    ],
)
def test_spikes(values: list[float], expected: list[int]) -> None:
    assert spike(TIMES_MS[: len(values)], values, suspect=2.0, fail=5.0) == expected


def test_a_neighbour_of_yesterday_says_nothing_of_a_spike() -> None:
    times = [0, 4 * HOUR_MS, 5 * HOUR_MS]
    assert spike(times, [10.0, 30.0, 10.0], suspect=2.0, fail=5.0) == [2, 2, 2]


def test_climatological_range() -> None:
    usual = {1: (-10.0, 12.0), 7: (5.0, 36.0)}
    months, values = [1, 1, 7, 4, 7], [11.0, 20.0, 20.0, 20.0, math.nan]
    assert climatological_range(months, values, usual) == [1, 3, 1, 2, 9]


def test_flat_since() -> None:
    assert flat_since([0, 1, 2, 3, 4], [5.0, 5.0, 5.1, 5.0, 5.0]) == [0, 0, 2, 3, 3]
    assert flat_since([0, 1, 2, 3], [5.0, 5.1, 4.9, 5.3], tolerance=0.2) == [0, 0, 0, 3]


@pytest.mark.parametrize(
    ("counted_mm", "expected"),
    [
        ([50.0, 50.2, 50.2, 51.0], [2, 1, 1, 2]),
        # A glitch far up, and one down that would look like 50 mm more after a restart.
        ([50.0, 7000.0, 50.2, 50.2], [2, 4, 1, 2]),
        ([50.0, 0.0, 50.2, 50.2], [2, 4, 1, 2]),
        # A restart goes on from nothing.
        ([50.0, 0.0, 0.2, 0.4], [2, 1, 1, 2]),
        # A gauge that had hardly counted may have started again and caught up.
        ([0.4, 0.0, 0.6, 0.6], [2, 1, 1, 2]),
        # It jumps and stays: 250 mm in a quarter of an hour has never fallen.
        ([50.0, 300.0, 300.2, 300.2], [2, 3, 1, 2]),
    ],
)
def test_counts_that_were_not_counted(counted_mm: list[float], expected: list[int]) -> None:
    assert counter_spike(TIMES_MS[: len(counted_mm)], counted_mm) == expected


@pytest.mark.parametrize(("hours", "record_mm"), [(1, 92.0), (24, 341.4)])
def test_what_may_fall_is_more_than_ever_fell(hours: int, record_mm: float) -> None:
    # Records of the British Isles, from memory: 92 mm in an hour (1901), 341.4 mm in a day (2015).
    assert record_mm < most_rain_mm(hours * HOUR_MS) < 1.2 * record_mm
