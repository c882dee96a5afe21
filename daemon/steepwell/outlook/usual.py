"""What is usual in a garden on a date: the same date in every year on record."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from steepwell.outlook.bridging import same_day
from steepwell.outlook.seasons import run_seasons, seasons_of
from steepwell.outlook.summary import dry_days

if TYPE_CHECKING:
    from datetime import date

    from steepwell.garden.garden import Garden
    from steepwell.outlook.record import Record

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Usual:
    """What is stored on a date in the years on record, from full butts in spring on.

    Attributes
    ----------
    first
        The first day of the season, in some year.
    stored_l
        Water in all butts; (days, years) [L].
    dry
        Whether the garden was dry; (days, years).
    """

    first: date
    stored_l: Array
    dry: NDArray[np.bool_]

    def quantiles_l(self, day: date, levels: Array) -> Array:
        """Return quantiles of the water in the evening of a date, NaN outside of the season [L]."""
        index = self._index(day)
        if index >= len(self.stored_l):
            return np.full(len(levels), np.nan)
        found: Array = np.quantile(self.stored_l[index], levels)
        return found

    def p_dry_by(self, day: date, days: int) -> float:
        """Return the chance of a dry day from a date on, NaN where the season ends before [-]."""
        index = self._index(day)
        if index > len(self.dry) - days:
            return float("nan")
        return float(self.dry[index : index + days].any(axis=0).mean())

    def _index(self, day: date) -> int:
        since = (day - same_day(self.first, day.year)).days
        return since if since >= 0 else (day - same_day(self.first, day.year - 1)).days


def usual_of(
    garden: Garden, record: Record | None, *, every_d: int = 1, use_factor: float = 1.0
) -> Usual | None:
    """Return what is usual in a garden.

    Parameters
    ----------
    garden
        The garden.
    record
        What its weather has been, or None.
    every_d
        Every how many days the gardener goes round [d].
    use_factor
        What he gives of what the beds draw [-].

    Returns
    -------
    Usual or None
        None where no season is known.
    """
    seasons = seasons_of(garden, record) if record is not None else None
    if seasons is None:
        return None
    garden = garden.model_copy(update={"vessel": ()})
    run = run_seasons(
        garden, seasons.first, seasons.weather, every_d=every_d, use_factor=use_factor
    )
    return Usual(seasons.first, run.volume_l.sum(axis=1), dry_days(garden, run))
