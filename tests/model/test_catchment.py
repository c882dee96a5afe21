"""Roofs and butts: what runs off, what fills, what spills."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from steepwell.model.catchment import (
    after_first_flush,
    capped_l,
    fill_and_spill,
    runoff_l,
    share_below_cap,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

litres = st.floats(0.0, 500.0)


def test_a_roof_delivers_what_is_left_after_its_losses() -> None:
    delivered = runoff_l(
        10.3, area_m2=40.0, share=0.5, runoff_coefficient=0.9, filter_efficiency=0.95
    )
    assert delivered == pytest.approx(171.0)  # by hand: 10 mm x 40 x 0.5 x 0.9 x 0.95


def test_rain_that_only_wets_the_roof_delivers_nothing() -> None:
    delivered = runoff_l(
        np.array([0.0, 0.2, 0.3, 1.3]), area_m2=40.0, share=1.0, runoff_coefficient=1.0
    )
    assert delivered == pytest.approx([0.0, 0.0, 0.0, 40.0])  # by hand, 0.3 mm lost


@pytest.mark.parametrize(
    "change",
    [
        {"area_m2": -1.0},
        {"wetting_loss_mm": -0.1},
        {"share": 1.1},
        {"runoff_coefficient": -0.1},
        {"filter_efficiency": 1.5},
    ],
)
def test_a_roof_that_cannot_be_is_refused(change: dict[str, float]) -> None:
    sound = {"area_m2": 40.0, "share": 0.5, "runoff_coefficient": 0.9}
    with pytest.raises(ValueError, match=r"cannot be negative|must lie"):
        runoff_l(5.0, **(sound | change))


@pytest.mark.parametrize(
    ("rain", "passed"),
    # By hand, 1 mm led away once it has been dry for three hours.
    [
        ([3.0, 2.0, 0.0, 0.0, 1.0], [2.0, 2.0, 0.0, 0.0, 1.0]),
        ([3.0, 0.0, 0.0, 0.0, 1.5], [2.0, 0.0, 0.0, 0.0, 0.5]),
        ([0.4, 0.4, 0.4], [0.0, 0.0, 0.2]),
        ([0.4, 0.0, 0.4, 0.0, 0.4], [0.0, 0.0, 0.0, 0.0, 0.2]),
        ([0.4, 0.0, 0.0, 0.0, 0.8], [0.0, 0.0, 0.0, 0.0, 0.0]),
        ([0.0, 0.0, 5.0], [0.0, 0.0, 4.0]),
    ],
)
def test_the_first_rain_of_an_event_is_led_away(rain: list[float], passed: list[float]) -> None:
    wet = np.flatnonzero(rain)
    computed = after_first_flush(
        np.array(rain)[wet], wet.astype(np.float64), flush=1.0, dry_hours=3.0
    )
    assert computed == pytest.approx(np.array(passed)[wet])


def test_no_rain_leaves_nothing() -> None:
    none = np.zeros(0)
    assert len(after_first_flush(none, none, flush=1.0, dry_hours=3.0)) == 0


@given(
    rain=st.lists(st.floats(0.1, 20.0), min_size=1, max_size=30),
    gaps=st.lists(st.integers(1, 12), min_size=30, max_size=30),
    flush=st.floats(0.0, 3.0),
    dry_hours=st.floats(0.0, 12.0),
)
def test_no_more_is_led_away_than_one_flush_an_event(
    rain: list[float], gaps: list[int], flush: float, dry_hours: float
) -> None:
    at_h = np.cumsum(gaps[: len(rain)], dtype=np.float64)
    computed = after_first_flush(np.array(rain), at_h, flush=flush, dry_hours=dry_hours)
    lost = np.array(rain) - computed
    assert np.all(lost >= -1e-9)
    assert np.all(lost <= flush + 1e-9)
    events = 1 + np.count_nonzero(np.diff(at_h) - 1.0 >= dry_hours)
    assert lost.sum() <= flush * events + 1e-9


@pytest.mark.parametrize(
    ("inflow", "passed"),
    # By hand: 5 L a minute for two hours are 600 L.
    [(100.0, 100.0), (600.0, 600.0), (900.0, 600.0)],
)
def test_a_downpipe_takes_only_so_much(inflow: float, passed: float) -> None:
    assert capped_l(inflow, most_l_min=5.0, rain_hours=2.0) == pytest.approx(passed)


@pytest.mark.parametrize(
    "change",
    [{"flush": -1.0}, {"dry_hours": -1.0}, {"at_h": np.array([2.0, 1.0, 3.0])}],
)
def test_a_flush_that_cannot_be_is_refused(change: dict[str, Any]) -> None:
    sound: dict[str, Any] = {"at_h": np.arange(3.0), "flush": 1.0, "dry_hours": 3.0}
    with pytest.raises(ValueError, match="cannot be"):
        after_first_flush(np.ones(3), **(sound | change))


@pytest.mark.parametrize(("most", "hours"), [(0.0, 2.0), (-1.0, 2.0), (5.0, -1.0)])
def test_a_downpipe_that_cannot_be_is_refused(most: float, hours: float) -> None:
    with pytest.raises(ValueError, match="cannot be"):
        capped_l(100.0, most_l_min=most, rain_hours=hours)


@pytest.mark.parametrize(
    ("most", "share"),
    # Tables of e^-x: 0.36788, 0.13534, 0.00674 at 1, 2 and 5 times the mean.
    [(2.0, 0.63212), (4.0, 0.86466), (10.0, 0.99326)],
)
def test_most_rain_falls_gently(most: float, share: float) -> None:
    assert share_below_cap(most, mean_mm_h=2.0) == pytest.approx(share, abs=1e-5)


@pytest.mark.parametrize(("most", "mean"), [(0.0, 2.0), (-1.0, 2.0), (5.0, 0.0)])
def test_a_cap_that_cannot_be_is_refused(most: float, mean: float) -> None:
    with pytest.raises(ValueError, match="cannot be"):
        share_below_cap(most, mean_mm_h=mean)


def fill(
    volume: Sequence[float], inflow: Sequence[float], overflow_to: Sequence[int]
) -> tuple[list[float], list[float]]:
    after, spilled = fill_and_spill(
        np.array(volume),
        np.array(inflow),
        capacity_l=[100.0, 200.0, 300.0][: len(volume)],
        overflow_to=overflow_to,
    )
    return after.tolist(), spilled.tolist()


def test_overflow_passes_down_the_chain_and_then_to_the_ground() -> None:
    # By hand: 50 over the first, 100 + 50 over the second, 50 of these fit the third.
    after, spilled = fill([100.0, 200.0, 250.0], [50.0, 100.0, 0.0], [1, 2, -1])
    assert after == pytest.approx([100.0, 200.0, 300.0])
    assert spilled == pytest.approx([0.0, 0.0, 100.0])


def test_two_butts_may_overflow_into_one() -> None:
    after, spilled = fill([100.0, 200.0, 0.0], [10.0, 20.0, 0.0], [2, 2, -1])
    assert after == pytest.approx([100.0, 200.0, 30.0])
    assert spilled == pytest.approx([0.0, 0.0, 0.0])


def test_butts_apart_spill_each_to_the_ground() -> None:
    after, spilled = fill([90.0, 0.0], [20.0, 20.0], [-1, -1])
    assert after == pytest.approx([100.0, 20.0])
    assert spilled == pytest.approx([10.0, 0.0])


@given(
    volumes=st.lists(st.tuples(litres, litres), min_size=3, max_size=3),
    overflow_to=st.sampled_from([(1, 2, -1), (2, 2, -1), (-1, 2, -1), (-1, -1, -1)]),
)
def test_no_water_is_made_or_lost(
    volumes: list[tuple[float, float]], overflow_to: tuple[int, int, int]
) -> None:
    volume, inflow = (np.array(column) for column in zip(*volumes, strict=True))
    after, spilled = fill_and_spill(
        volume, inflow, capacity_l=[100.0, 200.0, 300.0], overflow_to=overflow_to
    )
    assert after.sum() + spilled.sum() == pytest.approx((volume + inflow).sum())
    assert np.all(after <= [100.0, 200.0, 300.0])
    assert np.all(spilled >= 0.0)


def test_members_do_not_mix() -> None:
    volume = np.array([[90.0, 10.0], [0.0, 190.0]])
    inflow = np.array([[30.0, 30.0], [5.0, 30.0]])
    after, spilled = fill_and_spill(volume, inflow, capacity_l=[100.0, 200.0], overflow_to=[1, -1])
    assert after == pytest.approx(np.array([[100.0, 40.0], [25.0, 200.0]]))  # by hand
    assert spilled == pytest.approx(np.array([[0.0, 0.0], [0.0, 20.0]]))
    assert volume.tolist() == [[90.0, 10.0], [0.0, 190.0]]


@pytest.mark.parametrize("overflow_to", [(0, -1), (-1, 0), (2, -1), (-2, -1)])
def test_water_that_would_run_back_or_nowhere_is_refused(overflow_to: tuple[int, int]) -> None:
    with pytest.raises(ValueError, match="cannot overflow"):
        fill([0.0, 0.0], [0.0, 0.0], overflow_to)
