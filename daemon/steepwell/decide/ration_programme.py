"""The linear programme of a ration: water now and later, against what the beds would lose."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog
from scipy.sparse import csc_array

from steepwell.decide.ration_cells import cells_of, columns_of

if TYPE_CHECKING:
    from steepwell.decide.ration_cells import Cells, Columns
    from steepwell.decide.ration_scenarios import Scenarios

# A price on water, next to nothing beside what it saves, and a little lower each week: nothing is
# poured where it does no good, or before it does.
PRICE = 1e-3
PRICE_FALLS = 0.5
# What is missing off the top costs this many times as much as where it is worth most elsewhere.
TOP_COMES_FIRST = 3.0

Array = NDArray[np.float64]
Index = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Programme:
    """Minimise ``cost @ x`` where ``matrix @ x <= bound`` and ``0 <= x <= most``.

    Attributes
    ----------
    columns
        What the columns of the matrix stand for.
    in_hand_rows
        The rows whose bounds hold the water in hand now.
    taken_rows
        The rows that say what beds and pots take out of the butts; (scenarios, weeks).
    scale, unwatered
        The expected loss is ``unwatered + cost @ x / scale`` over the columns of ``relief`` [-].
    """

    cost: Array
    matrix: csc_array
    bound: Array
    most: Array
    columns: Columns
    in_hand_rows: Index
    taken_rows: Index
    scale: float
    unwatered: float


@dataclass(frozen=True, slots=True)
class Solution:
    """The best share-out.

    Attributes
    ----------
    first_week_mm
        What each bed gets this week [mm].
    taken_l
        What is taken out of the butts in each week; (scenarios, weeks) [L].
    loss, unwatered
        Expected share of the garden's yield that is lost, with this water and with none [-].
    worth
        What one litre more in hand would save, as a share of what a litre saves where a bed lacks
        one [-].
    """

    first_week_mm: Array
    taken_l: Array
    loss: float
    unwatered: float
    worth: float


def programme_of(scenarios: Scenarios) -> Programme:
    """Write down the linear programme of a ration.

    It speaks of the differences that water makes to beds that nobody waters. What is given in a
    week, less what the wet surface loses of it, stays in the soil as far as there is room for it,
    or is drawn by the crop: no more than the crop lacks, and no more than the share of it that a
    soil so dry yields within a week. That is the root-zone balance of each week, with
    evapotranspiration bounded by that of a crop without stress, storage by field capacity, and
    stress linear between readily and totally available water. A bed that lacks nothing in a week is
    given nothing in it, except in the first.

    Butts count as one store. Rain comes in the middle of a week: half of the week's use is before
    it and must be there, half after it; what the store cannot hold then is lost. What beds get in
    the first week is the same in all scenarios; later weeks are shared out with foresight in each
    of them, which makes water kept in hand look a little better than it is.

    Parameters
    ----------
    scenarios
        The futures, at least one bed and one week.

    Returns
    -------
    Programme
        Fit for ``solve``.
    """
    cells = cells_of(scenarios)
    columns = columns_of(cells)
    per_litre = cells.loss_per_mm / cells.area_m2
    worth = per_litre[per_litre > 0]
    scale = cells.scenarios / float(worth.mean()) if worth.size else 1.0
    cost, most = np.zeros(columns.count), np.full(columns.count, np.inf)
    price = PRICE * (1.0 + PRICE_FALLS * (1.0 - cells.week / cells.weeks))
    np.add.at(cost, columns.given, price * cells.area_m2)
    cost[columns.relief] = -scale / cells.scenarios * cells.loss_per_mm
    cost[columns.missing] = TOP_COMES_FIRST * max(
        1.0, scale / cells.scenarios * per_litre.max(initial=0.0)
    )
    most[columns.relief] = cells.unmet_mm
    most[columns.kept] = cells.room_mm[~cells.last]
    most[columns.missing] = scenarios.off_top_l
    matrix, bound, in_hand_rows, taken_rows = _rows(scenarios, cells, columns)
    unwatered = float(cells.loss_per_mm @ cells.unmet_mm) / cells.scenarios
    return Programme(cost, matrix, bound, most, columns, in_hand_rows, taken_rows, scale, unwatered)


def solve(programme: Programme, time_limit_s: float) -> Solution | None:
    """Solve a programme.

    Parameters
    ----------
    programme
        The programme.
    time_limit_s
        How long it may take [s].

    Returns
    -------
    Solution or None
        None if there was no time for it, or the solver failed.
    """
    found = linprog(
        programme.cost,
        A_ub=programme.matrix,
        b_ub=programme.bound,
        bounds=np.column_stack([np.zeros(len(programme.most)), programme.most]),
        method="highs-ds",
        # What presolve finds out here costs more than it saves.
        options={
            "time_limit": time_limit_s,
            "presolve": False,
            "simplex_dual_edge_weight_strategy": "devex",
        },
    )
    if not found.success:
        return None
    columns, taken = programme.columns, programme.taken_rows
    taken_l = programme.matrix @ found.x - programme.bound
    saved = float(programme.cost[columns.relief] @ found.x[columns.relief]) / programme.scale
    scenarios = len(taken)
    return Solution(
        np.maximum(found.x[columns.first_week], 0.0),
        np.maximum(taken_l[taken] + found.x[columns.use], 0.0),
        programme.unwatered + saved,
        programme.unwatered,
        -float(found.ineqlin.marginals[programme.in_hand_rows].sum()) / scenarios,
    )


def stored_after(scenarios: Scenarios, taken_l: Array) -> Array:
    """Return what the butts hold at the end of each week.

    The programme itself only says what they hold at least: where water is plenty, none of its
    solutions needs to keep what nobody wants.

    Parameters
    ----------
    scenarios
        The futures.
    taken_l
        What is taken out in each week, half of it before the rain; (scenarios, weeks) [L].

    Returns
    -------
    ndarray
        Water above the taps; (scenarios, weeks) [L].
    """
    stored_l = np.empty_like(taken_l)
    now_l = np.full(len(taken_l), scenarios.in_hand_l)
    for week, (half_l, inflow_l) in enumerate(
        zip(taken_l.T / 2.0, scenarios.inflow_l.T, strict=True)
    ):
        full_l = np.minimum(now_l - half_l + inflow_l, scenarios.capacity_l)
        now_l = np.maximum(full_l - half_l, 0.0)
        stored_l[:, week] = now_l
    return stored_l


def _rows(
    scenarios: Scenarios, cells: Cells, columns: Columns
) -> tuple[csc_array, Array, Index, Index]:
    """Return the left and right sides, the rows of the water in hand, and of what is taken out.

    Each cell has a balance and a rate; each week of a scenario has the store's balance, what is
    taken out of it, its room after the rain, and what is there before the rain.
    """
    stored, use = columns.stored, columns.use
    balance = np.arange(cells.count)
    rate = cells.count + balance
    weeks = np.arange(stored.size).reshape(stored.shape)
    store, taken, room, before = (2 * cells.count + k * stored.size + weeks for k in range(4))
    # What is kept at the end of a cell comes into the next one of the same bed and scenario.
    follows = ~cells.first
    entries: list[tuple[Index, Index, Array | float]] = [
        (balance[~cells.last], columns.kept, 1.0),
        (balance[follows], columns.kept, -1.0),
        (balance, columns.relief, 1.0),
        (balance, columns.given, -cells.reaches),
        (rate, columns.relief, 1.0),
        (rate, columns.given, -cells.drawn * cells.reaches),
        (rate[follows], columns.kept, -cells.drawn[follows]),
        (store, stored, 1.0),
        (store[:, 1:], stored[:, :-1], -1.0),
        (store, use, 1.0),
        (taken[cells.scenario, cells.week], columns.given, cells.area_m2),
        (taken, columns.missing, -1.0),
        (taken, use, -1.0),
        (room, stored, 1.0),
        (room, use, 0.5),
        (before, use, 0.5),
        (before[:, 1:], stored[:, :-1], -1.0),
    ]
    rows = np.concatenate([row.ravel() for row, _, _ in entries])
    cols = np.concatenate([column.ravel() for _, column, _ in entries])
    values = np.concatenate([np.broadcast_to(v, row.shape).ravel() for row, _, v in entries])
    matrix = csc_array((values, (rows, cols)), shape=(int(before[-1, -1]) + 1, columns.count))
    bound = np.zeros(matrix.shape[0])
    bound[store] = scenarios.inflow_l
    bound[store[:, 0]] += scenarios.in_hand_l
    bound[taken] = -scenarios.off_top_l
    bound[room] = scenarios.capacity_l
    bound[before[:, 0]] = scenarios.in_hand_l
    return matrix, bound, np.concatenate([store[:, 0], before[:, 0]]), taken
