"""From a ration's litres to what is told: cans, evenings, a butt and a reason for each bed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from steepwell.decide.ration_words import why_left, why_watered
from steepwell.decide.rounding import (
    Evenings,
    butt_for,
    carried_l,
    days_of,
    draw,
    evenings_for,
    in_half_cans,
)
from steepwell.decide.watering import Watering, left_out
from steepwell.outlook.calendar import standing_on

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.decide.ration_programme import Solution
    from steepwell.decide.ration_scenarios import Scenarios
    from steepwell.garden.garden import Garden
    from steepwell.garden.growing import Bed
    from steepwell.outlook.calendar import Stay
    from steepwell.outlook.state import BedNow, State
    from steepwell.store.entries import Entry

WEEK_D = 7
# A bed is watered before one future in four lets it suffer.
SUFFERS_IN = 0.25
# A litre that would save less than this share of what one saves in a dry bed is not needed.
SPARE_BELOW = 0.1

Array = NDArray[np.float64]


def lines_in_rounds(
    garden: Garden,
    state: State,
    entries: Sequence[Entry],
    *,
    scenarios: Scenarios,
    solution: Solution,
    left_l: dict[str, float],
) -> list[Watering]:
    """Return the lines of the beds that rain reaches.

    Parameters
    ----------
    garden
        The garden.
    state
        What is so now.
    entries
        The journal, for what was planted and cleared.
    scenarios
        What the ration reckons with.
    solution
        The best share-out.
    left_l
        Water above the tap of each butt; what is given is taken out of it [L].

    Returns
    -------
    list of Watering
        One for each bed with a crop, those that lose most with each litre first.
    """
    growing = _growing(garden, state, entries, scenarios, solution)
    halves = in_half_cans(
        {
            one.bed.name: carried_l(one.meant_mm, one.bed.area, garden.can.size)
            for one in growing
            if one.evenings
        },
        {one.bed.name: one.evenings for one in growing if one.evenings},
        can_l=garden.can.size,
        there_l=sum(left_l.values()),
    )
    butts_dry = scenarios.in_hand_l < garden.dry_line_l
    most_to_lose = solution.worth >= SPARE_BELOW
    lines = []
    for one in growing:
        given = halves.get(one.bed.name, 0)
        if one.evenings and given:
            days = days_of(given, one.evenings)
            reason = why_watered(
                one.now, one.standing, state.today, one.thirsty_in_d, most_to_lose=most_to_lose
            )
            most_to_lose = False
            litres = given * garden.can.size / 2
            butt = butt_for(one.bed, left_l, litres)
            draw(left_l, butt, litres)
            evenings = tuple(state.today + timedelta(days=day) for day in days)
            lines.append(Watering(one.bed.name, given / 2, litres, evenings, butt, reason))
        else:
            lines.append(_left(state, one, butts_dry=butts_dry, others_get=any(halves.values())))
    return lines


@dataclass(frozen=True, slots=True)
class _Growing:
    """A bed with a crop, and what the ration means for it."""

    bed: Bed
    now: BedNow
    standing: Stay
    meant_mm: float
    thirsty_in_d: float
    evenings: Evenings | None


def _growing(
    garden: Garden,
    state: State,
    entries: Sequence[Entry],
    scenarios: Scenarios,
    solution: Solution,
) -> list[_Growing]:
    """Return the beds in which a crop stands, those that lose most with each litre first."""
    open_beds = [bed for bed in garden.bed if bed.rained_on]
    now = {bed.name: bed for bed in state.beds}
    thirsty_in_d = _quantile_d(scenarios.thirsty_in_d, 0.5)
    suffers_in_d = _quantile_d(scenarios.thirsty_in_d, SUFFERS_IN)
    growing = []
    for k in np.argsort(-scenarios.worth_per_l, kind="stable").tolist():
        bed = open_beds[k]
        standing = standing_on(garden, bed, state.today, entries)
        if standing is None:
            continue
        lacks_mm = scenarios.lacks_mm[:, k].tolist()
        evenings = evenings_for(bed.area, garden.can.size, lacks_mm, suffers_in_d[k])
        meant_mm = float(solution.first_week_mm[k])
        growing.append(_Growing(bed, now[bed.name], standing, meant_mm, thirsty_in_d[k], evenings))
    return growing


def _quantile_d(days: Array, share: float) -> list[float]:
    """Return for each bed the day before which a share of the futures lies [d]."""
    found: list[float] = np.quantile(days, share, axis=0, method="inverted_cdf").tolist()
    return found


def _left(state: State, one: _Growing, *, butts_dry: bool, others_get: bool) -> Watering:
    if butts_dry and one.thirsty_in_d < WEEK_D:
        return left_out(one.now, butts_dry=True)
    reason, stop = why_left(
        one.now,
        one.standing,
        state.today,
        one.thirsty_in_d,
        meant_mm=one.meant_mm,
        others_get=others_get,
    )
    enough = one.thirsty_in_d >= WEEK_D
    return Watering(one.bed.name, 0.0, 0.0, (), None, reason, stop=stop, enough=enough)
