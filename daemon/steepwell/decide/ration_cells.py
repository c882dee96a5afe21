"""The variables of a ration's programme: which weeks of which beds count, and their columns."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from steepwell.decide.ration_scenarios import Scenarios

Array = NDArray[np.float64]
Index = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Cells:
    """The weeks of each bed in each scenario in which water makes a difference, and the first.

    Arrays have one entry a cell, in the order of scenario, bed and week.

    Attributes
    ----------
    scenarios, beds, weeks
        How many there are [-].
    scenario, bed, week
        Where a cell belongs.
    first, last
        Whether it is the first or the last of its bed and scenario.
    unmet_mm, drawn, loss_per_mm, reaches, area_m2
        As in ``Scenarios``.
    room_mm
        Room that the soil has for water given until the next cell of bed and scenario [mm].
    """

    scenarios: int
    beds: int
    weeks: int
    scenario: Index
    bed: Index
    week: Index
    first: NDArray[np.bool_]
    last: NDArray[np.bool_]
    unmet_mm: Array
    drawn: Array
    loss_per_mm: Array
    reaches: Array
    area_m2: Array
    room_mm: Array

    @property
    def count(self) -> int:
        """How many cells there are."""
        return len(self.week)


@dataclass(frozen=True, slots=True)
class Columns:
    """Where each variable stands.

    Attributes
    ----------
    first_week
        Water given this week; one a bed [mm].
    given
        Water given in a cell; those of the first week are shared by all scenarios [mm].
    relief
        What its crop draws of water given [mm].
    kept
        What is left of it in the soil for the next cell; cells that are not the last [mm].
    stored
        Water in the butts at the end of a week, at least; (scenarios, weeks) [L].
    use
        Water taken out of them in a week; the same [L].
    missing
        What is not there for the beds that come off the top; the same [L].
    count
        How many columns there are.
    """

    first_week: Index
    given: Index
    relief: Index
    kept: Index
    stored: Index
    use: Index
    missing: Index
    count: int


def cells_of(scenarios: Scenarios) -> Cells:
    """Return the cells of a ration.

    Parameters
    ----------
    scenarios
        The futures.

    Returns
    -------
    Cells
        Those in which the crop lacks something, and the first of each bed and scenario.
    """
    counts = scenarios.unmet_mm > 0
    counts[:, :, 0] = True
    at = np.nonzero(counts)
    scenario, bed, week = at
    first = week == 0
    until_next = np.flatnonzero(counts.ravel())
    futures, beds, weeks = counts.shape
    return Cells(
        futures,
        beds,
        weeks,
        scenario,
        bed,
        week,
        first,
        np.roll(first, -1),
        scenarios.unmet_mm[at],
        scenarios.drawn[at],
        scenarios.loss_per_mm[at],
        scenarios.reaches[bed, week],
        scenarios.area_m2[bed],
        np.minimum.reduceat(scenarios.room_mm.ravel(), until_next),
    )


def columns_of(cells: Cells) -> Columns:
    """Return where the variables of all cells stand.

    Parameters
    ----------
    cells
        The cells.

    Returns
    -------
    Columns
        One after the other, without gaps.
    """
    later = ~cells.first
    given = np.where(later, cells.beds - 1 + np.cumsum(later), cells.bed)
    relief = cells.beds + int(later.sum()) + np.arange(cells.count)
    kept = relief[-1] + 1 + np.arange(int((~cells.last).sum()))
    weeks = np.arange(cells.scenarios * cells.weeks).reshape(cells.scenarios, cells.weeks)
    stored, use, missing = (relief[-1] + 1 + len(kept) + k * weeks.size + weeks for k in range(3))
    return Columns(
        np.arange(cells.beds), given, relief, kept, stored, use, missing, int(missing[-1, -1]) + 1
    )
