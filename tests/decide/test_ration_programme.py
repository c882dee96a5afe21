"""The programme: as good as trying everything, certified by its duals, honest with water."""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.optimize import linprog

from steepwell.decide.ration_programme import (
    Programme,
    Solution,
    programme_of,
    solve,
    stored_after,
)
from steepwell.decide.ration_scenarios import Scenarios

Array = NDArray[np.float64]

LONG_S = 60.0
STEP_MM = 1.0
# A crop that lacks 5 mm, in a soil that yields half of them within the week, is given 10 mm.
MOST_UNMET_MM, LEAST_DRAWN = 5, 0.5
GRID = np.arange(0.0, MOST_UNMET_MM / LEAST_DRAWN + STEP_MM, STEP_MM)


def scenarios(
    unmet_mm: Any,  # noqa: ANN401 - nested lists or an array
    *,
    loss_per_mm: Any = 1.0,  # noqa: ANN401 - a number, nested lists or an array
    drawn: float = 1.0,
    reaches: float = 1.0,
    room_mm: float = 100.0,
    inflow_l: float = 0.0,
    off_top_l: float = 0.0,
    in_hand_l: float = 0.0,
    capacity_l: float = 1000.0,
    area_m2: float = 1.0,
) -> Scenarios:
    """Return futures by their figures; arrays are (scenarios, beds, weeks)."""
    unmet = np.array(unmet_mm, dtype=float)
    futures, beds, weeks = unmet.shape
    return Scenarios(
        unmet_mm=unmet,
        drawn=np.full(unmet.shape, drawn),
        room_mm=np.full(unmet.shape, room_mm),
        loss_per_mm=np.broadcast_to(np.array(loss_per_mm, dtype=float), unmet.shape).copy(),
        reaches=np.full((beds, weeks), reaches),
        thirsty_in_d=np.zeros((futures, beds)),
        lacks_mm=np.zeros((7, beds)),
        inflow_l=np.full((futures, weeks), inflow_l),
        off_top_l=np.full((futures, weeks), off_top_l),
        area_m2=np.full(beds, area_m2),
        worth_per_l=np.ones(beds),
        in_hand_l=in_hand_l,
        capacity_l=capacity_l,
    )


def solved(case: Scenarios) -> Solution:
    solution = solve(programme_of(case), LONG_S)
    assert solution is not None
    return solution


@st.composite
def tiny(draw: st.DrawFn) -> Scenarios:
    """Two beds, two weeks, one or two futures; a lack costs no more later than sooner."""
    futures = draw(st.integers(1, 2))
    shape = (futures, 2, 2)
    size = futures * 4
    lacks = st.lists(st.integers(0, MOST_UNMET_MM), min_size=size, max_size=size)
    unmet = np.array(draw(lacks), dtype=float)
    now = np.array(draw(st.lists(st.integers(1, 9), min_size=2, max_size=2)), dtype=float)
    fall = np.array(draw(st.lists(st.floats(0.2, 1.0), min_size=2, max_size=2)))
    loss = np.stack([now, now * fall], axis=1)
    case = scenarios(
        unmet.reshape(shape),
        loss_per_mm=loss,
        drawn=draw(st.sampled_from([LEAST_DRAWN, 0.8, 1.0])),
        room_mm=draw(st.sampled_from([0.0, 2.0, 50.0])),
        in_hand_l=float(draw(st.integers(0, 24))),
        capacity_l=float(draw(st.integers(24, 40))),
    )
    rain = draw(st.lists(st.integers(0, 20), min_size=2 * futures, max_size=2 * futures))
    return replace(case, inflow_l=np.array(rain, dtype=float).reshape(futures, 2))


def tried(case: Scenarios) -> float:
    """Return the least expected loss over all waterings in steps, as a gardener would see it."""
    futures = range(len(case.unmet_mm))
    return min(
        sum(best_of(case, future, first) for future in futures) / len(futures)
        for first in product(GRID.tolist(), GRID.tolist())
    )


def best_of(case: Scenarios, future: int, first_mm: tuple[float, ...]) -> float:
    """Return the least loss of a future after a first week, over all second ones."""
    if not there(case, future, 0, case.in_hand_l, np.array(sum(first_mm))):
        return np.inf
    volume = after(case, future, 0, case.in_hand_l, np.array(sum(first_mm)))
    loss = np.zeros(())
    for bed, given_mm in enumerate(first_mm):
        now, later = (future, bed, 0), (future, bed, 1)
        relief = min(case.unmet_mm[now], case.drawn[now] * given_mm)
        kept = min(given_mm - relief, case.room_mm[now])
        second = np.minimum(case.unmet_mm[later], case.drawn[later] * (kept + GRID))
        lost_now = case.loss_per_mm[now] * (case.unmet_mm[now] - relief)
        lost_later = case.loss_per_mm[later] * (case.unmet_mm[later] - second)
        loss = loss[..., None] + lost_now + lost_later
    possible = there(case, future, 1, float(volume), GRID[:, None] + GRID)
    return float(np.where(possible, loss, np.inf).min())


def after(case: Scenarios, future: int, week: int, volume_l: float, use_l: Array) -> Array:
    """Return what is left in the butts after a week, half of whose use is before its rain."""
    rained = np.minimum(volume_l - use_l / 2 + case.inflow_l[future, week], case.capacity_l)
    left: Array = rained - use_l / 2
    return left


def there(case: Scenarios, future: int, week: int, volume_l: float, use_l: Array) -> Any:  # noqa: ANN401 - an array or one truth
    """Return whether the butts have what is used, before the week's rain and after it."""
    return (use_l / 2 <= volume_l) & (after(case, future, week, volume_l, use_l) >= 0)


@settings(max_examples=40)
@given(case=tiny())
def test_nothing_that_can_be_tried_is_better_and_something_is_nearly_as_good(
    case: Scenarios,
) -> None:
    solution, found = solved(case), tried(case)
    # The price on water is a thousandth of what it saves on average, or half as much again.
    price = 0.003 * max(solution.unwatered, 1e-9) + 1e-6
    assert solution.loss <= found + price
    # What lies between two steps saves at most a step's worth in each week of each bed, and a
    # first week that is watered a step less leaves the step to be drawn in the second.
    between = float(case.loss_per_mm.mean(axis=0).sum()) * STEP_MM
    assert found <= solution.loss + between + price


def large(seed: int, *, in_hand_l: float = 400.0, futures: int = 20) -> Scenarios:
    """Return invented futures of twelve beds and sixteen weeks."""
    rng = np.random.default_rng(seed)
    shape = (futures, 12, 16)
    unmet = np.round(rng.uniform(-10.0, 20.0, shape).clip(0.0), 1)
    case = scenarios(
        unmet,
        loss_per_mm=rng.uniform(0.1, 2.0, shape),
        in_hand_l=in_hand_l,
        off_top_l=20.0,
        area_m2=3.0,
    )
    return replace(
        case,
        drawn=rng.uniform(0.2, 0.9, shape),
        room_mm=rng.uniform(0.0, 40.0, shape),
        inflow_l=rng.gamma(0.4, 300.0, (futures, 16)),
    )


def certificate(programme: Programme) -> float:
    """Return a bound on the cost of any share-out, from the duals: weak duality."""
    found = linprog(
        programme.cost,
        A_ub=programme.matrix,
        b_ub=programme.bound,
        bounds=np.column_stack([np.zeros(len(programme.most)), programme.most]),
        method="highs-ipm",
    )
    duals = np.minimum(found.ineqlin.marginals, 0.0)
    reduced = programme.cost - programme.matrix.T @ duals
    assert reduced[np.isinf(programme.most)].min() > -1e-6
    bounded = np.isfinite(programme.most)
    at_most = np.minimum(reduced[bounded], 0.0) @ programme.most[bounded]
    return float(programme.bound @ duals + at_most)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_no_share_out_of_a_large_garden_can_be_better(seed: int) -> None:
    case = large(seed, futures=10)
    programme = programme_of(case)
    least_cost = certificate(programme)
    solution = solved(case)
    # Without its price on water and on what is missing off the top, a share-out costs less.
    bound = programme.unwatered + least_cost / programme.scale
    assert solution.loss == pytest.approx(bound, rel=0.02)
    assert solution.loss < 0.9 * solution.unwatered


@settings(max_examples=15)
@given(seed=st.integers(0, 10_000), litres=st.floats(0.0, 600.0), more=st.floats(1.0, 400.0))
def test_more_water_is_never_worse(seed: int, litres: float, more: float) -> None:
    case = large(seed, in_hand_l=litres, futures=3)
    less = solved(case)
    better = solved(replace(case, in_hand_l=litres + more))
    assert better.loss <= less.loss + 0.003 * less.unwatered
    assert 0.0 <= better.loss <= better.unwatered + 1e-9


@settings(max_examples=15)
@given(seed=st.integers(0, 10_000), litres=st.floats(0.0, 900.0))
def test_no_more_water_than_is_in_hand_and_comes_in(seed: int, litres: float) -> None:
    case = large(seed, in_hand_l=litres, futures=5)
    solution = solved(case)
    used = float(solution.first_week_mm @ case.area_m2)
    assert used <= litres + case.inflow_l[:, 0].min() + 1e-6
    # Half of the week's use is before its rain.
    assert used <= 2 * litres + 1e-6
    assert solution.first_week_mm.min() >= 0.0
    stored_l = stored_after(case, solution.taken_l)
    assert stored_l.min() >= 0.0
    assert stored_l.max() <= case.capacity_l + 1e-6
    # Whatever was there or came in is still there, was taken, or ran over a full store.
    before_l = np.column_stack([np.full(5, litres), stored_l[:, :-1]])
    over_l = before_l + case.inflow_l - solution.taken_l - stored_l
    assert over_l.min() >= -1e-6
    full_l = case.capacity_l - solution.taken_l / 2.0
    assert stored_l[over_l > 1e-6] == pytest.approx(full_l[over_l > 1e-6])


@pytest.mark.parametrize(
    ("unmet_mm", "in_hand_l", "first_week_mm", "loss"),
    [
        # One bed of 1 m² that lacks 10 mm now: as much as there is.
        ([[[10.0, 0.0]]], 4.0, [4.0], 6.0),
        ([[[10.0, 0.0]]], 50.0, [10.0], 0.0),
        # It lacks them next week: nothing now, and nothing lost.
        ([[[0.0, 10.0]]], 50.0, [0.0], 0.0),
        # Next week it lacks them in one of two futures; water kept is lost on nobody.
        ([[[0.0, 10.0]], [[0.0, 0.0]]], 10.0, [0.0], 0.0),
    ],
)
def test_one_bed(
    unmet_mm: list[list[list[float]]], in_hand_l: float, first_week_mm: list[float], loss: float
) -> None:
    solution = solved(scenarios(unmet_mm, in_hand_l=in_hand_l))
    assert solution.first_week_mm == pytest.approx(first_week_mm)
    assert solution.loss == pytest.approx(loss, abs=1e-6)


def test_the_bed_that_loses_more_comes_first() -> None:
    both = scenarios([[[10.0], [10.0]]], loss_per_mm=[[1.0], [1.5]], in_hand_l=12.0)
    assert solved(both).first_week_mm == pytest.approx([2.0, 10.0])


def test_water_is_kept_for_the_week_that_loses_more() -> None:
    # Tassels next week: 2 for each millimetre then, 1 now.
    case = scenarios([[[10.0, 10.0]]], loss_per_mm=[[[1.0, 2.0]]], in_hand_l=12.0)
    solution = solved(case)
    assert solution.first_week_mm == pytest.approx([2.0])
    assert solution.loss == pytest.approx(8.0)
    assert stored_after(case, solution.taken_l) == pytest.approx(np.array([[10.0, 0.0]]))


def test_what_nobody_wants_stays_in_the_store() -> None:
    # 10 mm for 1 m² in the first week of three, and 5 L of rain a week into 100 L that are full.
    case = scenarios([[[10.0, 0.0, 0.0]]], in_hand_l=100.0, inflow_l=5.0, capacity_l=100.0)
    stored_l = stored_after(case, solved(case).taken_l)
    assert stored_l == pytest.approx(np.array([[95.0, 100.0, 100.0]]))


def test_what_would_run_over_is_used_before() -> None:
    # 60 L in a store of 60 L, and 60 L of rain to come: what is kept now runs over.
    case = scenarios([[[20.0, 20.0]]], in_hand_l=60.0, inflow_l=60.0, capacity_l=60.0)
    assert solved(case).first_week_mm == pytest.approx([20.0])


@pytest.mark.parametrize(
    ("unmet_mm", "loss"),
    [
        # Of 12 mm half is drawn within the week.
        ([[[10.0]]], 4.0),
        # Half of what is left of them is drawn in the next: 6 and 3.
        ([[[10.0, 10.0]]], 11.0),
    ],
)
def test_a_dry_soil_gives_back_slowly(unmet_mm: list[list[list[float]]], loss: float) -> None:
    solution = solved(scenarios(unmet_mm, drawn=0.5, in_hand_l=12.0))
    assert solution.first_week_mm == pytest.approx([12.0])
    assert solution.loss == pytest.approx(loss)


def test_of_what_the_surface_loses_more_is_given() -> None:
    # Of each millimetre half is lost: 20 L for the 10 mm that the crop lacks, or 5 mm of 10 L.
    plenty = solved(scenarios([[[10.0]]], reaches=0.5, in_hand_l=50.0))
    assert plenty.first_week_mm == pytest.approx([20.0])
    assert solved(scenarios([[[10.0]]], reaches=0.5, in_hand_l=10.0)).loss == pytest.approx(5.0)
    # Next week the leaves have closed over it: what is there waits for that.
    case = scenarios([[[10.0, 10.0]]], in_hand_l=10.0)
    waits = solved(replace(case, reaches=np.array([[0.5, 1.0]])))
    assert waits.first_week_mm == pytest.approx([0.0], abs=1e-6)


@pytest.mark.parametrize(
    ("room_mm", "first_week_mm", "loss"),
    [
        # A full store of 10 L, and 10 L of rain in the middle of this week; 5 mm lacking now and
        # 30 mm next week. What is used now makes room for half as much rain, so x leaves 10 - x/2.
        # Where the soil keeps 15 mm: all 20 L now, 5 drawn and 15 kept.
        (15.0, 20.0, 15.0),
        # Where it keeps 3 mm: 8 L now, 5 drawn and 3 kept, and 6 L are left for next week.
        (3.0, 8.0, 21.0),
    ],
)
def test_soil_and_store_hold_no_more_than_they_can(
    room_mm: float, first_week_mm: float, loss: float
) -> None:
    case = scenarios([[[5.0, 30.0]]], room_mm=room_mm, in_hand_l=10.0, capacity_l=10.0)
    solution = solved(replace(case, inflow_l=np.array([[10.0, 0.0]])))
    assert solution.first_week_mm == pytest.approx([first_week_mm])
    assert solution.loss == pytest.approx(loss)


def test_what_comes_off_the_top_comes_before_all_beds() -> None:
    case = scenarios([[[10.0]]], loss_per_mm=5.0, in_hand_l=12.0, off_top_l=8.0)
    assert solved(case).first_week_mm == pytest.approx([4.0])
    # Where there is not even enough for that, beds get none, and the rest is what is missing.
    nothing = solved(scenarios([[[10.0]]], in_hand_l=5.0, off_top_l=8.0))
    assert nothing.first_week_mm == pytest.approx([0.0])


def test_a_litre_more_is_worth_what_it_saves_in_a_dry_bed() -> None:
    assert solved(scenarios([[[10.0]]], in_hand_l=4.0)).worth == pytest.approx(1.0, abs=0.01)
    assert solved(scenarios([[[10.0]]], in_hand_l=40.0)).worth == pytest.approx(0.0, abs=0.01)


def test_beds_that_lack_nothing_are_given_nothing() -> None:
    solution = solved(scenarios(np.zeros((3, 2, 4)), in_hand_l=100.0))
    assert solution.first_week_mm == pytest.approx([0.0, 0.0])
    assert (solution.loss, solution.unwatered, solution.worth) == (0.0, 0.0, 0.0)


def test_without_time_there_is_no_share_out() -> None:
    assert solve(programme_of(large(1)), 0.0) is None
